"""What is to be said and done about a lot, decided once."""
