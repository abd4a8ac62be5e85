"""Thermometer logs and hand readings, read into °C and local moments."""
