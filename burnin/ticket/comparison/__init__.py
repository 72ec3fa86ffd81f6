"""Before and after: a record beside another, or beside all passes of its profile.

Needs no ticket. Start with `comparison.py`.
"""
