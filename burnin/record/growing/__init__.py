"""A record read while its run still writes it: the one reader's tables, taken line by line.

`following.py` knows the tables of the record and nothing of whoever shows them; `tail.py` how far
one of them was read.
"""
