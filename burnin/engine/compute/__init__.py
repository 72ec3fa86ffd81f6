"""Arithmetic work, as a load and as a check."""
