"""Which causes explain a record, and what to measure next. Start with `explain.py`."""
