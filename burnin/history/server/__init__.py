"""The history of a shop with several benches: one PostgreSQL server, to which each bench adds.

`layout.py` says what lies there and who may do what, `keeper.py` brings it up to date, `opened.py`
asks it, `verify.py` looks whether a row was changed there. Rows are only ever added: what a newer
look at a file says takes the place of an older one in the views that questions read. The driver
comes with an extra (`needs.py`). Start with `layout.py`.
"""
