"""The history at the command line: taking records in, asking, and the end of a run."""
