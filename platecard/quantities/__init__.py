"""Exact amounts: units, conversions, durations, times of day, shelf life, and the bounds of plausible figures."""
