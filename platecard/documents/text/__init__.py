"""The sentences of cards and pages."""
