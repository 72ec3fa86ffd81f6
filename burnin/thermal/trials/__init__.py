"""Forecasts put to the test: what was foretold, and how wrong it has been in this run.

Rests on the model beside it; the model knows nothing of it.
"""
