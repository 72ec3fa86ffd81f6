"""Compute, memory and link at once: turns of slices on one card. Start with `together_work.py`."""
