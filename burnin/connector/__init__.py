"""Connectors of a card: their contacts, what these carry, what damage there does and shows.

`contact_map.py` holds the edge, `other_connectors.py` the power and display connectors, both read
from data files; effects follow from a contact's group (`edge_effects.py`, `plug_effects.py`),
`measuring.py` says what to measure, `contact_facts.py` gathers all that is known of one contact.

It knows the core and nothing else: no card, no record, no screen. Start with `contact_map.py`.
"""
