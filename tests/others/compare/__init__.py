"""What a technician expects to be told first where a record is laid beside others.

`cases.toml` holds the cases, drawn from the trade before the command was looked at; `cases.py`
makes their runs on the simulated machine.
"""
