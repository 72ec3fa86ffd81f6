"""The repair around a run: what came in, was done, measured, is owed, is handed over.

A ticket is a log (`log/`). People put onto it what they see and do (`intake/`), what they measure
before power (`before_power/`) and at first light (`first_light/`); its runs prove stages
(`proven/`). From all that follows what is owed (`owed_work.py`), what a run is told
(`ticket_for_run.py`), what comes next (`next_step.py`), and the sheets (`handover/`).
`comparison/` lays records side by side.

Knows the record, the report and the profile; runs only as far as it tells them what to leave out.
What it says is typed; words are made at the edge. Start with `log/whole_ticket.py`, then
`owed_work.py`.
"""
