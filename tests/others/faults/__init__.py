"""Cases of faults and hostile input, drawn by a hand that had not read the package's code.

Lists (`*.toml`) are data; `run_cases.py` carries them out with the real command, `test_cases.py`
holds each against its demand. `at_event.py` sends signals at named events of `--json`, `failing.py`
makes chosen calls of the operating system fail (`shim.c`), `clock/` steps the wall clock, `edit.py`
damages files.
"""
