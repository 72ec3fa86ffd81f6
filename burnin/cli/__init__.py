"""The commands and the terminal. Start with `app.py`."""
