"""What a batch leaves beside the records of its cards: a file that says which belong together.

`batch.py` is its form, its writer and its one reader. It knows verdicts and reasons.
"""
