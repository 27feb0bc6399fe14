"""The words and sentences of cards and pages."""
