"""What happened to the lots: the file it is taken down in, its entries, and what they do to the sheet."""
