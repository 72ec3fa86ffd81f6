"""Works the card of a simulated machine: time, power and errors come from its physical state.

It answers the Protocol of `burnin.engine` and means what real engines mean with the same codes. It
knows the machine's physics; nothing there knows it. Start with `engine.py`.
"""
