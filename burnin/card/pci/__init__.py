"""PCI configuration space: what its bytes say.

Start with `config_space.py`. Registers under their published names are in `registers.py`. It knows
`core` and bytes, not where they are from.
"""
