"""Reading finished papers back."""
