"""What the pages show, in words: all that a browser is told is worded here, once a language.

`tell.py` makes all of a run's page from a run so far, `word_so_far.py` the large word, `figures.py`
the figures beside it; `board.py`, `ticket.py` and `round.py` make the pages of their names. No
script knows a word.
"""
