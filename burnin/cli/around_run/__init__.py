"""What is the same before and after every run, alone or in a batch.

`said_beforehand.py`: who answers prompts where nobody is asked; `after_run.py`: ticket, sheet,
checksums, signature.
"""
