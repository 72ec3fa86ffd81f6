"""Several cards of one bench burnt in together: `burnin run --every-card`, or several `--card`.

`session.py` is the technician's side: it picks cards, tickets and profiles (`choosing.py`), has the
keeper carry the batch out, and shows one line a card (`lines.py`). `card_run.py` is the run of one
card in a process of its own. What happens between the two lives in `run/batch` and `run/leave`.
"""
