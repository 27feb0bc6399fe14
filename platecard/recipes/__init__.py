"""Names to what they stand for, and the mass that goes through every sub-recipe."""
