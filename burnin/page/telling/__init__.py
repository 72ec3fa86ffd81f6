"""What the page shows, in words: everything that a browser is told is worded here, once a language.

`tell.py` makes all of it from a run so far,
`word_so_far.py` the large word, `figures.py` the figures beside it. No script knows a word.
"""
