"""Wrap labels, and labels for the buyer."""
