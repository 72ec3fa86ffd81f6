"""What a shop asks of its history: one file a question, all of them in `registry.py`.

A question is two steps: an expression over the tables (`rows`), which any database of ours carries
out, and what is made of its rows (`answer`), in plain Python. `views.py` holds what several share.
"""
