"""The cooler checklist."""
