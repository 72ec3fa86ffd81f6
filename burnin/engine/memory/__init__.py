"""The memory test: `memory_work.py` leads pattern families over an area, `sweep.py` goes one pass.

`failing_words.py` keeps what was found. It knows jobs and the Protocols of `device/`, no API.
"""
