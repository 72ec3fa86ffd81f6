"""Format 1, which held sentences: what of it can be given a meaning, and what stays words.

Knows the codes that other rooms give the same meanings today, as text. Start with `run.py`.
"""
