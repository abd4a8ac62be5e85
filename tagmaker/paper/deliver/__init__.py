"""Putting papers in place and handing them on."""
