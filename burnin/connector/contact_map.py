"""The 164 contacts of the x16 edge connector, read from contacts.csv.

The list was transcribed from the table in Wikipedia's "PCI Express" and compared by program with
KiCad's `Bus_PCI_Express_x16` symbol: 162 of 164 agree, the two others (B12, B30) are later names
of reserved contacts. Directions are the card's: ``lane_tx`` is what the card transmits (side A).
The keys of `Contact.sources` are explained in sources.toml.
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

PRESENCE_END = {1: "B17", 4: "B31", 8: "B48", 16: "B81"}
"""The PRSNT2# contact that a card of that edge width ties to A1 (PRSNT1#): the farthest one."""

KEY_AFTER = 11
"""The key notch lies between this contact and the next, on both sides."""


@dataclass(frozen=True)
class Contact:
    """One contact of the edge: `name` is side and number, `lane` None where it carries none.

    `direction` is as the card sees it (in, out, bidir, power_in, return, strap, none, and
    in/out/bidir_open_drain); `polarity` is p or n for one leg of a pair, else empty. `sources`
    are keys of sources.toml.
    """

    name: str
    side: str
    number: int
    signal: str
    group: str
    lane: int | None
    direction: str
    polarity: str
    sources: tuple[str, ...] = ()


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
                sources=tuple(row["sources"].split()),
            )
            for row in csv.DictReader(lines)
        ]
    return {contact.name: contact for contact in found}


def on_connector(contact: Contact, width_lanes: int) -> bool:
    """Whether a card edge of that width (1, 4, 8, 16 lanes) reaches the contact."""
    return contact.number <= LAST_CONTACT[width_lanes]


@cache
def twin(contact: Contact) -> Contact | None:
    """The other leg of the contact's pair (a lane's one direction, or the clock); None if single.

    Pairs lie side by side: the leg of the other polarity is the next contact up or down.
    """
    if not contact.polarity:
        return None
    step = 1 if contact.polarity == "p" else -1
    other = contacts()[f"{contact.side}{contact.number + step}"]
    assert (other.group, other.lane) == (contact.group, contact.lane)
    return other


@cache
def beside(contact: Contact) -> tuple[Contact, ...]:
    """The contacts next to it on the same side; none across the key notch or past the ends."""
    found = []
    for number in (contact.number - 1, contact.number + 1):
        over_key = {number, contact.number} == {KEY_AFTER, KEY_AFTER + 1}
        other = contacts().get(f"{contact.side}{number}")
        if other is not None and not over_key:
            found.append(other)
    return tuple(found)


def same_group(contact: Contact) -> tuple[Contact, ...]:
    """Every contact of the same group, itself included."""
    return tuple(c for c in contacts().values() if c.group == contact.group)


def is_short(name: str, width_lanes: int = 16) -> bool:
    """Whether the finger is shorter than the rest on a card of that edge width.

    A1 and the presence contact that is tied to it (KiCad's footprints BUS_PCIexpress_x1 to x16:
    3.2 mm instead of 4.3 mm, drawn back from the edge). They make last and break first.
    """
    return name in ("A1", PRESENCE_END[width_lanes])


def place_mm(number: int) -> float:
    """Distance of a contact's middle from that of contact 1, along the edge, in mm.

    Pitch 1 mm; the key notch takes two more (KiCad, footprint BUS_PCIexpress_x16).
    """
    return float(number - 1 if number <= KEY_AFTER else number + 1)


def from_key_mm(number: int) -> float:
    """Distance of a contact's middle from the middle of the key notch, along the edge, in mm."""
    key_mm = (place_mm(KEY_AFTER) + place_mm(KEY_AFTER + 1)) / 2.0
    return abs(place_mm(number) - key_mm)
