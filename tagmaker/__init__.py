"""Storage dates, storage codes and printed tags for lots of cut flowers."""
