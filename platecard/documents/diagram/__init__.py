"""The plate as a picture, from above and from the side."""
