"""The simulated machine: physics behind the same files as a real bench, and its engine.

Lives here: `bench.py` (files, clock and engine that share one machine), `clock.py`, `physics/` (the
state and what moves it), `files/` (how a bench reads it), `engine/` (how a run works it),
`scenario/` (how it was built, read from TOML), `causes/` (what may be wrong with it), `practise/`
(faults for a person to find), and the ready-made scenarios: `scenarios/` are those that the main
job is tried on, `cause_scenarios/` one for a cause each.

It may know every room below; nothing real knows it, and only `cli` may import it. Start to read
with `physics/machine.py`.
"""
