"""Curves of a run, on paper and to look into.

`series.py` makes one structure (`plot_data.py`) from a record; `static.py` draws it as SVG for
paper, `interactive.py` as a page to look into. `beside_records.py` draws a record over others. They
know records, catalogues and the sheet's own judgement, and nothing of tickets.
"""
