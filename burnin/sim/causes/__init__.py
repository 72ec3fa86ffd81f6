"""What a scenario may name as wrong, and with which keys; what follows is left to the physics.

It knows connectors and nothing else of the machine. Start with `kinds.py`.
"""
