"""The repair around a run: what came in, was measured, was done, is owed, goes out."""
