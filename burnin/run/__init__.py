"""One execution of a profile on a card. Start with `runner.py`."""
