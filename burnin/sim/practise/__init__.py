"""Faults that are not disclosed, for a person to find."""
