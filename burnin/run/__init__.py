"""One execution of a profile on a card, from an opened bench to a verdict.

Here lives how a run begins (`bench.py` opens the bench, `begin.py` says all that is known before
the first stage, `resume.py` goes on with an interrupted record), what it is to do (`plan.py`), how
it goes (`runner.py`, `conduct.py`: stage after stage, each ended by its own means or a guard's) and
with whom it speaks (`session.py`: the record and the other sinks; `prompters.py`). It knows stages,
guards, record and everything below them; never a ticket, a sheet or a terminal, and never the
simulated machine, which comes in through the seam of benches. Start reading at `session.py`, then
go on to `runner.py`.
"""
