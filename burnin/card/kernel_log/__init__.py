"""The kernel's own log as a source: what it says of a card, of the port above it, of its driver.

`kmsg.py` and `journal.py` read it while a run goes on, `records.py` takes a record apart,
`whose.py` says of which device it speaks, `patterns.py` what it means. It knows files and processes
of the bench and the core. Start with `log.py`.
"""
