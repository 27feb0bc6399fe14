"""Names resolved to what they stand for, and masses followed through every sub-recipe."""
