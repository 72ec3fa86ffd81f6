"""Which faults explain a record, how probable each is, and what to measure next.

A record's evidence (`evidence.py`) is weighed against every fault that is thought of (`faults.py`)
by what it does to the link (`effects.py`), what that lets a bench see (`prediction.py`,
`likelihood.py`) on every kind of bench (`benches.py`), and Bayes' rule (`posterior.py`); outputs,
memory, heat and what keeps a card from starting by themselves (`outputs.py`, `memory_fault/`,
`heat.py`, `start/`). The answer
(`explanation.py`) is typed: causes, checks and reasons as codes of `meanings.py`; their sentences
are made in `burnin.report`.

It reads records through the one reader, knows connectors and the reasons of the rooms below, and no
hardware. Start to read with `explain.py`.
"""
