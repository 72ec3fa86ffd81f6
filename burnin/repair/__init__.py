"""The repair around a run: what came in, what was measured and done, what is owed, what goes out."""
