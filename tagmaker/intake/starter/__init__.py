"""A folder to begin a season with."""
