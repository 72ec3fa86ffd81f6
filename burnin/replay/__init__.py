"""Recordings and records judged anew by the same guards. Start with `records.py`."""
