"""Ink out: wrap labels, crate cards and the cooler checklist as PDF."""
