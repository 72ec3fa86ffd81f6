"""Faults as a bench would see them, drawn from standards and the trade by another hand.

Whoever wrote this had not read how the tool explains anything, nor the simulated machine. Each
class of cases (`link`, `rail`, `output`, `memory`, `heat`, `power`) has its generator; `cases.py`
says what a case holds, `draw.py` prints them, `step_times.py` says how long a technician takes for
a step and what would be seen.

Seeds 1000 to 1999 are there to tune on. Seeds from 5000 on are held out: they are not looked at
until the end, and nothing is changed after they were.
"""
