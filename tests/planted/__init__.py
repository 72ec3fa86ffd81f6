"""Bugs planted one at a time into a copy of the tree: does a test find each?

`bugs.toml` lists bugs by hand, each with the tests that must fail (`python -m tests.planted.run`);
`mutate.py` draws small changes by chance (`python -m tests.planted.mutate`). Both go on where they
were stopped. Nothing here changes the tree that it is run in.
"""
