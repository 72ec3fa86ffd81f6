"""Hostile input: every reader of the tool under inputs that somebody made up.

`mutators.py` changes bytes and structures, `formats.py` files of a format, `arcs.py` sees which
ways through the code an input takes, `loop.py` keeps what went a new way and tries on from there,
`targets/` has a target for each reader. By hand::

    python -m tests.fuzz.run --target profile --inputs 50000 --seed 7
    python -m tests.fuzz.run --all

A reader may refuse an input with an error of `burnin.core.errors` and nothing else.
"""
