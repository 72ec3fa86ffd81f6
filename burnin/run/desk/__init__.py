"""The desk of a run: where its open prompt lies, and where whoever may act as the run is heard.

A socket beside the records (`listening.py`) takes two things and no third: an answer to an open
prompt by its number, and the wish to stop, which ends the run as Ctrl-C does. `prompts.py` holds
what is open, `at_desk.py` puts a prompter before it, `letters.py` says what goes over the socket,
`calling.py` is the other end. It knows events, where a record lies and the reasons of a run; a desk
that fails is named in the record and costs the run nothing. Start with `desk.py`.
"""
