"""Curves of a run, on paper and to look into."""
