"""The text on a bought-in product: read, held against its lists and names, and what of it stays open."""
