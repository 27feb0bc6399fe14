"""What a guest asks for, understood, and the answer for each dish."""
