"""The files through which the simulated machine is read, byte for byte as a bench shows them.

It knows the machine's state; the readers of the card know nothing of it. Start with `tree.py`.
"""
