"""The ticket itself: a log that is only ever appended to, and what it says when it is read.

`whole_ticket.py` is what a ticket holds, `ticket_from_log.py` makes it from the events of the log,
`store.py` finds, opens and appends. Knows the core, the log's file format and the shop's key, which
vouches for the log; nothing of runs, profiles or sheets. Start with `whole_ticket.py`.
"""
