"""The building blocks of pages: paper, columns, rows and blocks."""
