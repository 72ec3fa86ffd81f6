"""The faults of supply that are thought of, with how often each comes before anything is read."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from itertools import combinations

from burnin.connector.contact_map import contacts
from burnin.connector.other_connectors import connectors
from burnin.diagnosis.power.look import PowerLook


class PowerCause(StrEnum):
    """What may be wrong with a card's supply."""

    SOUND = "sound"
    CONTACT = "supply contact"
    SENSE = "sense line"
    UNIT = "supply unit"
    LIMIT = "power limit"
    ELSE = "something else"


class Path(StrEnum):
    """The two ways by which 12 V comes."""

    PLUG = "plug"
    SLOT = "slot"


class Effect(StrEnum):
    """What a supply contact does."""

    OPEN = "open"
    RESISTIVE = "resistive"


@dataclass(frozen=True)
class PowerFault:
    """One fault: its contacts, their path and effect, and its weight among all.

    `budget_w`: what the sense lines then allow from the plug.
    """

    cause: PowerCause
    weight: float
    contacts: tuple[str, ...] = ()
    path: Path | None = None
    effect: Effect | None = None
    budget_w: float | None = None


_WEIGHTS = {
    PowerCause.SOUND: 0.30,
    PowerCause.CONTACT: 0.25,
    PowerCause.SENSE: 0.12,
    PowerCause.UNIT: 0.14,
    PowerCause.LIMIT: 0.14,
    PowerCause.ELSE: 0.05,
}
"""How often each is met at a bench where power is in question (estimate)."""
_AT_PLUG = 0.58
"""Share of bad supply contacts that sit in the plug: it is handled, and carries more (estimate)."""
_PAIR = 0.5
"""Share of bad supply contacts that come in twos (estimate)."""

EDGE_12V = tuple(name for name in ("B1", "B2", "B3", "A2", "A3") if name in contacts())
"""The edge's 12 V contacts (Wikipedia, "PCI Express", pinout; contacts.csv)."""

_LINES: dict[str, tuple[tuple[str, float, float], ...]] = {
    "6pin": (("6pin/5", 0.0, 1.0),),
    "8pin": (("8pin/4", 75.0, 0.5), ("8pin/6", 0.0, 0.5)),
    "12v2x6": (
        ("12v2x6/S3", 300.0, 0.40),
        ("12v2x6/S3", 450.0, 0.10),
        ("12v2x6/S4", 450.0, 0.40),
        ("12v2x6/S4", 300.0, 0.10),
    ),
}
"""Open sense lines: contact, W that remain, share.

8-pin: ATX design guide, table of sense lines; its reserved row is read as nothing allowed (common
practice, no source). 12V-2x6: the two sources at hand give the two middle rows in opposite order;
the order from memory is trusted more, the other one is kept.
"""


def budget_w(plug: str | None) -> float | None:
    """What a whole plug of full power allows, W (connectors.toml)."""
    found = connectors().get(plug) if plug else None
    return None if found is None or found.kind != "power" else found.budget_w


def supply_contacts(plug: str | None) -> tuple[str, ...]:
    """The 12 V contacts of a plug, as ``8pin/1``."""
    found = connectors().get(plug) if plug else None
    if found is None or found.kind != "power":
        return ()
    return tuple(c.name for c in found.contacts if c.group == "power_12v")


def faults_of(look: PowerLook) -> tuple[PowerFault, ...]:
    """Every fault that a card with that plug may have; the weights of one plug add up to 1."""
    return tuple(_faults(look.plug or _metered_plug(look)))


def _metered_plug(look: PowerLook) -> str | None:
    """The plug by the points that a meter was held to, where nothing else tells it."""
    return next((point.split("/")[0] for point in look.meter_ohm if "/" in point), None)


def _faults(plug: str | None) -> Iterator[PowerFault]:
    for cause in (PowerCause.SOUND, PowerCause.UNIT, PowerCause.LIMIT, PowerCause.ELSE):
        yield PowerFault(cause, _WEIGHTS[cause])
    in_plug = supply_contacts(plug)
    at_plug = _AT_PLUG if in_plug else 0.0
    whole = _WEIGHTS[PowerCause.CONTACT]
    yield from _bad_contacts(Path.PLUG, in_plug, whole * at_plug)
    yield from _bad_contacts(Path.SLOT, EDGE_12V, whole * (1.0 - at_plug))
    lines = _LINES.get(plug or "", (("", 0.0, 1.0),))
    for contact, allowed_w, share in lines:
        named = (contact,) if contact else ()
        weight = _WEIGHTS[PowerCause.SENSE] * share
        yield PowerFault(PowerCause.SENSE, weight, named, budget_w=allowed_w)


def _bad_contacts(path: Path, names: tuple[str, ...], weight: float) -> Iterator[PowerFault]:
    """One contact or two, open or resistive."""
    if not names:
        return
    for count, share in ((1, 1.0 - _PAIR), (2, _PAIR)):
        sets = tuple(combinations(names, count))
        for found in sets:
            for effect in Effect:
                each = weight * share / (len(sets) * len(Effect))
                yield PowerFault(PowerCause.CONTACT, each, found, path, effect)
