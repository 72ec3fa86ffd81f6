"""Arithmetic work: as a load (`arithmetic_load.py`), and as a check that repeats itself.

It knows jobs and the Protocols of `device/`, no API.
"""
