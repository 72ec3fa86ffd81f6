"""Curves of a run, on paper and to look into.

`series.py` makes one structure (`plot_data.py`) from a record; `static.py` draws it as SVG for
paper, `interactive.py` as a page to look into. `two_records.py` draws two records in one. They know
records, catalogues and the sheet's own judgement, and nothing of tickets.
"""
