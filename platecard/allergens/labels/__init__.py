"""The text of a bought-in product's label: read, compared with its lists and names, and what it leaves open."""
