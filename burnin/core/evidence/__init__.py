"""What of a run bears on who is at fault: what was seen, and the sights that follow from it.

`seen.py` holds what a run observed; one file a kind of failure says which observations (`Sight`)
speak of it. `burnin.core.sights` gathers them, `burnin.core.suspects` weighs them.
"""
