"""The card under test: what it says of itself, whoever tells it, and the reason for each silence.

`capabilities.py` is where to start: what may be asked of a card, each capability a Protocol, and
what the answers hold. `merge.py` opens the bench and makes one card (`merged_card.py`) of what
several sources tell; `source.py` says what a source is, so that a shop can register its own.
Ours are in `sources/`; `pci/` and `edid/` decode bytes; `files.py` is the one way to a bench's
files, real or simulated.

It knows `core` and nothing else of the tool: not who asks, and not what makes the card work.
"""
