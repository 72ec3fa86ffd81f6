"""What the tool needs leave for on this machine, whether this account has it, what is lost without.

`things.py` lists each thing that the tool reads or does, with the right it takes; `account.py`
tells whose account this is; `of_card.py`, `of_bench.py` and `engines.py` try every thing through
the readers of a run, and change nothing: what cannot be tried without leaving something behind (a
lock, a record) is looked at. Start reading at `trial.py`.
"""
