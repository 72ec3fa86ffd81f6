"""The simulated machine: physics behind the same files as a real bench. Start with
`physics/machine.py`. It may know every room below; nothing real knows it.
"""
