"""What a record holds: models of run.json (`run`, `card`, `bench`) and of each table (`tables`).

Knows the core's codes and quantities, reads and writes nothing. Starts at `run.py`.
"""
