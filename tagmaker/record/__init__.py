"""What was printed, kept beside the sheet."""
