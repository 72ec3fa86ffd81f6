"""Before and after: a record beside others, or beside all passes of its profile.

Needs no ticket. Start with `comparison.py`; `alike.py` says which records may be weighed against
each other, `rows.py` lays readings side by side, `spread.py` says when a value lies outside what
is usual, `findings.py` what matters, `likely.py` what it likely means.
"""
