"""What is measured on the unpowered card, and whether power may be put on it.

`points.py` says what a profile wants, `quantity.py` reads what a meter shows, `values.py` takes and
`judging.py` judges, `power_gate.py` decides, `measuring.py` asks at the bench. Start with
`judging.py`.
"""
