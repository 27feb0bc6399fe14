"""One document to a module."""
