"""Proves at the bench that a repaired graphics card works, and prints the sheet that says so."""

__version__ = "0.1.0"
