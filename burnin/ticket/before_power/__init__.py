"""What is measured on the unpowered card, and whether power may be put on it.

`points.py` says what a profile wants, `values.py` takes what a meter shows and
`judging.py` judges, `power_gate.py` decides, `measuring.py` asks at the bench. Start with
`judging.py`.
"""
