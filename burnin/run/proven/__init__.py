"""What known-good cards have shown in a slot of this bench, and for how long that counts.

`proof.py` makes a proof of a record that a technician declares known-good; `bench_log.py` keeps
proofs, starts of the bench and what is forgotten, in one append-only file a slot under
`results/bench/`; `shown.py` folds such a file into what a run opens with (`core.proven_bench`).
It reads records and knows no card. Start reading at `shown.py`.
"""
