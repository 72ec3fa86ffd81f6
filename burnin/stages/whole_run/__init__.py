"""The closing part of a run: what was shown, watched until the run ends (law 14).

Start with `watch.py`, which sees every sample, and `closing_readings.py`, which judges what it saw.
No profile asks for it and nothing registers it: every run with a card ends in it. `observed.py`
collects what tells the card from the bench; `of_record.py` does both over a record's samples.
"""
