"""The repair around a run: what came in, was done, measured, is owed, is handed over. Start with
`whole_ticket.py`.
"""
