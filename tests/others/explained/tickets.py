"""What a ticket claims of contacts: four in ten right, three beside it, three elsewhere."""

from __future__ import annotations

import numpy as np

from burnin.connector.contact_map import contacts
from tests.others.explained.cases import Fault, Ticket
from tests.others.explained.edge import neighbours

Rng = np.random.Generator


def draw_ticket(faults: list[Fault], rng: Rng) -> tuple[Ticket, bool]:
    """A ticket, empty in six of ten, and whether it points elsewhere."""
    if rng.random() < 0.6:
        return Ticket(), False
    true = [name for fault in faults for name in fault.contacts if "/" not in name]
    way = rng.random()
    named: list[str] = []
    if true and way < 0.4:
        named = [str(rng.choice(true))] if rng.random() < 0.5 else true
    elif true and way < 0.7:
        near = [n for name in true for n in neighbours(name) if n not in true]
        named = [str(rng.choice(near))] if near else []
    elif true or way < 0.6:
        others = [name for name in contacts() if name not in true]
        named = [str(n) for n in rng.choice(others, rng.integers(1, 4), replace=False)]
    elsewhere = bool(named) and not set(named) & set(true)
    if rng.random() < 0.5:
        return Ticket(damaged=tuple(named)), elsewhere
    return Ticket(damaged=tuple(named), repaired=tuple(named)), elsewhere
