"""The guide of the package: its pictures made, its words held against the command."""
