"""The card's heat, identified while it works. Start with `estimator.py`; knows no guard."""
