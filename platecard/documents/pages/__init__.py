"""The documents, one to a module."""
