"""What a person may answer to a prompt: words that are understood, the form that is asked for.

`reader.py` is the one reader of yes, no, done, left out and back, in every language of the tool;
`form.py` is what a prompt tells of its answer, as data: its kind, what is good, what silence means.
It knows meanings and errors, and nothing of terminals or pages.
"""
