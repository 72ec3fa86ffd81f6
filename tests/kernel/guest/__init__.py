"""What runs inside the emulated bench: steps that ask tool and kernel the same, and write both.

Nothing is judged here: the tests outside compare. Start with `__main__.py`.
"""
