"""Every run that the shop ever made, in one store, and the questions that a shop asks of it.

`tables.py` says what is kept, `sync.py` takes records and tickets in, `store.py` holds the
database, `questions/` asks, `statistics/` weighs the answers. Nothing is measured or judged here:
the store is made from records and logs alone, and may be deleted and made anew. Knows the ticket,
the record and the core; the database and its libraries come with an extra (`needs.py`). Start with
`sync.py`, then `questions/registry.py`.
"""
