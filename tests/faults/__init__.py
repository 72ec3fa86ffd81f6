"""Faults made to happen below and beside the real command, and what the record keeps of each."""
