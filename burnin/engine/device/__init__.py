"""What the jobs ask of an API that works a card, and what all APIs share.

Start with `device.py`, then `area.py` and `units.py` (Protocols of memory and of arithmetic),
`slices.py` (work in slices of at most 20 ms), `patterns.py` and `recipes.py` (what is written to
memory). It knows `core` alone.
"""
