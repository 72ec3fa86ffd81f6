"""Cards under load as another hand drew them, from physics and the trade, without sight of a guard.

`drawn/` is the generator; `tests.evaluation.drawn` leads its scenarios past the guards. What these
gave when they were drawn, on seeds 0 to 599 (see `gave.txt`), is kept beside it.
"""
