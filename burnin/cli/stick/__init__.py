"""The bench on a stick, as a technician meets it: building it, and its own screens once it runs.

`commands.py` holds the commands; start there. `desk.py` is what the stick shows by itself: the
questions of the first start (`first_start.py`), the choice, the run as a process of its own
(`child_run.py`), and what is copied to the records partition (`burnin/stick/copies.py`).
"""
