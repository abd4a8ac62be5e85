"""The thermometer report."""
