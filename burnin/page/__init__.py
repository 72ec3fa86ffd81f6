"""The live pages: a process of its own that reads records and tickets, and shows them.

`run_so_far.py` adds up what a growing record tells, `record_watch.py` follows one record: its end
at once, all of it soon. `watching.py` finds the newest record and follows all that somebody looks
at, `round_of_runs.py` says which runs go on together. `telling/` words it, `serving/` hands it to
browsers, `assets/` is what they show. It knows every room below it and nothing of a terminal; of a
run it asks two things only, through the run's desk: to take an answer to an open prompt, and to
stop. Nothing here can start a load. Start with `serving/app.py` for what is asked, with
`run_so_far.py` for what is shown.
"""
