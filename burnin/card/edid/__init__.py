"""EDID: what the bytes of a screen's own description mean, and what is wrong with them.

Start with `base_block.py`. It knows `core` and bytes, not where they are from.
"""
