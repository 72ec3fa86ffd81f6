"""State and laws of the simulated machine: link, heat, power, supply, memory, outputs.

It knows scenarios and causes, and nobody who reads or works the machine. Start with `machine.py`.
"""
