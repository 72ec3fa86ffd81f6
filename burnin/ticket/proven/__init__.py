"""What the runs of a ticket have proven, since the card was last worked on.

Records are read through `burnin.record.reader`. Start with `proven_stages.py`.
"""
