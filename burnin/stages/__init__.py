"""The checks of a run, one file each."""
