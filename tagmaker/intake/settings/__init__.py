"""The settings file, value by value."""
