"""The 164 contacts of the x16 edge connector, read from contacts.csv.

The list was transcribed from the table in Wikipedia's "PCI Express" and compared by program with
KiCad's `Bus_PCI_Express_x16` symbol: 162 of 164 agree, the two others (B12, B30) are later names
of reserved contacts. Directions are the card's: ``lane_tx`` is what the card transmits (side A).
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib import resources

LANE_GROUPS = ("lane_tx", "lane_rx")
"""Groups of the lane contacts: ``lane_tx`` the card transmits, ``lane_rx`` the card receives."""

LAST_CONTACT = {1: 18, 4: 32, 8: 49, 16: 82}
"""Number of the last contact on either side, by connector width in lanes."""


@dataclass(frozen=True)
class Contact:
    """One contact of the edge: `name` is side and number, `lane` None where it carries none.

    `direction` is as the card sees it (in, out, bidir, power_in, return, strap, none);
    `polarity` is p or n for one leg of a pair, else empty.
    """

    name: str
    side: str
    number: int
    signal: str
    group: str
    lane: int | None
    direction: str
    polarity: str


@cache
def contacts() -> dict[str, Contact]:
    """All 164 contacts by name, side A first."""
    source = resources.files("burnin.connector") / "contacts.csv"
    with source.open(encoding="utf-8") as lines:
        found = [
            Contact(
                name=row["contact"],
                side=row["side"],
                number=int(row["number"]),
                signal=row["signal"],
                group=row["group"],
                lane=int(row["lane"]) if row["lane"] else None,
                direction=row["direction_from_card"],
                polarity=row["polarity"],
            )
            for row in csv.DictReader(lines)
        ]
    return {contact.name: contact for contact in found}


def on_connector(contact: Contact, width_lanes: int) -> bool:
    """Whether a card edge of that width (1, 4, 8, 16 lanes) reaches the contact."""
    return contact.number <= LAST_CONTACT[width_lanes]
