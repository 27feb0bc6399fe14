"""What a guest asks for, as the kitchen understands it, and the answer for each dish."""
