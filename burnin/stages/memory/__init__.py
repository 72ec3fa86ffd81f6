"""Patterns are written and read back."""
