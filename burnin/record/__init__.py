"""What a run leaves on disk, and how it is read back. Start with `writer.py` and `reader.py`."""
