"""The tickets of the shop as the board shows them: looked at while somebody has the board open.

`watch.py` sees what changed in the folders, `working_out.py` finds out what a ticket owes and what
word each of its runs has, which may take seconds; `seen.py` is what is known at one moment.
"""
