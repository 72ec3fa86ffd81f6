"""Sheets and plots in any language, made from records alone.

Start with `make.py`, which goes over the formats of `formats.py`. `languages/` words every meaning,
`sheet/` composes what a run's record says, `plots/` draws it, `ticket/` makes the sheets of a
ticket, `paper/` sets and draws, `templates/` are pages. It reads records through the one reader,
touches no hardware, and changes no record.
"""
