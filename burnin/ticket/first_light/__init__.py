"""First light: what is seen, heard and smelt when a card is first powered.

Start with `observing.py`; `at_the_bench.py` brings the terminal to it.
"""
