"""Crate cards."""
