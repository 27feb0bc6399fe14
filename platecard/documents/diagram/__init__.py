"""The plate as a picture: from above, from the side, and step by step."""
