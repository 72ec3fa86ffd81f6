"""The checks of a run, one package a kind: settings, stage, meanings, words, one registration each.

Start with `kind.py` (what a kind is) and `context.py` (what a stage is given); `registry.py` finds
them all, a shop's own among them. A stage knows the core, its own settings, the capabilities of a
card that it declares, the engine, the guards' watch and the model of the cooling; nothing of files
on paper, tickets, or the command.
"""
