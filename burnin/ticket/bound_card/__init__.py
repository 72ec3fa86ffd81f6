"""The card that a ticket is about: bound at its first enumeration, and compared at every run.

`facts.py` is what is kept of a card, `binding.py` compares and binds, `replaced.py` enters a
firmware or board that was replaced. Start with `binding.py`.
"""
