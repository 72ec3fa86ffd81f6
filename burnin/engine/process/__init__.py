"""The worker process: an engine's work dies with its supervisor (law 3).

Start with `worker_engine.py`, the supervisor's side; `worker.py` is the process itself, `wire.py`
what crosses the pipe between them, `dead_man_switch.py` the rules. It opens whatever engine is
registered and knows none by name.
"""
