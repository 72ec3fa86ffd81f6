"""Guards watch samples and end a load in time.

Here live what a guard is (`guard`), its kinds with their settings (`kind`; a file each), the
factory that fits a set of them (`factory`, `guard_set`) and the watch that takes samples and leads
them past the set (`sampler`). The room may know the core, a profile's settings and the model of the
card's heat; it touches no hardware but through what the sampler is given.

Start with DECISIONS.md (the abort policy), then `factory.py`.
"""
