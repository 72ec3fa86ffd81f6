"""What of a bench's set-up hides something from a run: what it costs, and how to mend it.

Kernel options, drivers, privileges and firmware settings, each seen by what the kernel shows of it.
Start with `check.py`. It knows the readers of a card and `run.rights`; it changes nothing.
"""
