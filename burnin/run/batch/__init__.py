"""A batch: several cards of one bench burnt in together, each by a run of its own process.

`keeper.py` starts a process for each card, shares out the bench's power and its links, hears how
each run does, and ends with a word for each. `ledger.py` counts the watts: pure, without sockets or
clocks. `budget.py` says how much there is; `member.py` is one card with its process. What a card's
own run knows of all this is `run/leave`. Start with `keeper.py`.
"""
