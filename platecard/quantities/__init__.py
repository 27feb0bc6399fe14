"""Exact amounts: units, conversions, lengths of time, times of day, shelf life, and what a figure can be at all."""
