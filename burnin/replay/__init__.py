"""Recordings and records judged anew by the guards that a run would have had.

A recording (CSV, `recording_file`) or a record (a run's folder) becomes a case: samples, what it
knows of itself, and settings (`case`); the one guard factory makes its set; `judging` leads the
rows past it and yields typed results. The room may know records, guards, profiles and the card's
heat; it words nothing (`burnin.cli.replay_lines` does) and touches no hardware.

Start with `judging.py`.
"""
