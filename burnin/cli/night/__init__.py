"""A night's queue: cards that are burnt in while nobody is there, batch after batch.

`queue_file.py` is what the technician writes, `hours.py` when something may begin, `due.py` which
of its cards are to be burnt in now, later, or not again; `kept.py` what a night leaves on disk, so
that it goes on after a cut. `session.py` carries it out, `summary.py` says in the morning what came
of each card. A batch of it is one as any other (`cli/batch`).
"""
