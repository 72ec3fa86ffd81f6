"""Ninety more cases of whose fault it is: many symptoms, each with several parties at fault."""
