"""The sheet of a run: what a record says, as page and as paper, in any language.

`content.py` composes it from `run_stages.py` (each stage), `printed_verdict.py` (the large word),
`open_points.py` (what was not shown), `reading_lines.py`, `guard_notes.py`, `failing_words.py` and
`particulars.py` (who, when, which card, how); `page.py` and `pages_on_paper.py` print it. It knows
records and catalogues, and nothing of tickets.
"""
