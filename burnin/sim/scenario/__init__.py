"""What the simulated machine is made of: parts and causes, read from TOML files.

`model.py` reads a scenario and refuses what does not fit, `parts.py` holds the tables of bench and
card, `build.py` makes masses and resistances of them. It knows causes and connectors.
"""
