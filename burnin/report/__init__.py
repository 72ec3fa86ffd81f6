"""Plots and sheets, made from records alone. Start with `make.py`."""
