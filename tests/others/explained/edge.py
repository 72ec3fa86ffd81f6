"""The edge by lane and by neighbour, as the generators ask for it."""

from __future__ import annotations

from functools import cache

from burnin.connector.contact_map import beside, contacts

LANES = 16
SIDES = ("A", "B")
SLOT_12V = ("B1", "B2", "B3", "A2", "A3")
SLOT_3V3 = ("B8", "A9", "A10")


@cache
def legs(side: str, lane: int) -> tuple[str, str]:
    """The two contacts of a lane's one direction, the positive one first."""
    found = [c for c in contacts().values() if c.lane == lane and c.side == side]
    first, other = sorted(found, key=lambda c: c.polarity != "p")
    return first.name, other.name


def lane_of(name: str) -> tuple[str, int] | None:
    """Side and lane of a lane contact, None for any other contact."""
    contact = contacts().get(name)
    return None if contact is None or contact.lane is None else (contact.side, contact.lane)


@cache
def group_of(name: str) -> str:
    """The contact's group."""
    return contacts()[name].group


@cache
def neighbours(name: str) -> tuple[str, ...]:
    """Contacts beside it on its side."""
    return tuple(c.name for c in beside(contacts()[name]))


@cache
def lane_grounds() -> tuple[str, ...]:
    """Ground contacts that lie beside a lane's pair."""
    return tuple(
        c.name
        for c in contacts().values()
        if c.group == "ground" and any(group_of(n).startswith("lane") for n in neighbours(c.name))
    )


def width_of(dead: frozenset[int] | set[int], widths: tuple[int, ...], most: int, top: bool) -> int:
    """The widest permitted link with those lanes dead; 0 where none trains.

    Lanes number from 0 without a gap (PCI Express Base, 4.2.6.3), from the far end where `top`.
    """
    free = next((n for n in range(most) if (LANES - 1 - n if top else n) in dead), most)
    return max((width for width in widths if width <= free), default=0)
