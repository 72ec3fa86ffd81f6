"""Time stamps of others (RFC 3161) that somebody put beside a sheet: read, and checked.

Nothing is fetched: whoever wants a stamp gets it with a tool of their own. Knows files and the
library of signatures, nothing of tickets. Start with `token.py`.
"""
