"""The commands: words typed at a terminal, and what is shown there.

Here live the command line (`app.py` and the modules ``*_commands.py``), how a run is asked for
(`request.py`) and shown (`session.py`, `terminal/`), and how errors are told (`exit.py`). It may
know every room; nothing may know it. Sentences come from the catalogue of a language, what the
terminal says of its own from `terms.py`. Start reading at `app.py`.
"""
