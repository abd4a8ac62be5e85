"""The lot sheet: rows, blanks filled, families, and what does not add up."""
