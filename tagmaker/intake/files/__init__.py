"""Files as cells and rows: csv, xlsx, ods, and what they may hide."""
