"""What pages are made of: paper, columns, rows and blocks."""
