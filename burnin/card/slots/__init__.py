"""Which slot of the board a card sits in, by the name that people find there.

May know: the room's files and attributes. Start at `named.py`.
"""
