"""Measuring points of the unpowered card, and what a profile wants of each."""

from __future__ import annotations

import re
from dataclasses import dataclass

from burnin.connector.contact_map import beside, contacts, twin
from burnin.core.errors import BadInput
from burnin.core.meaning import ReasonCode, Value
from burnin.core.quantities.spelling import OHM, VOLT
from burnin.core.reading import Limit, Verdict
from burnin.profile.before_power import DiodeReadings, ExposedCopper, RepairedPads, Supply
from burnin.profile.model import Profile
from burnin.ticket.before_power.meanings import BeforePowerReason, PointTerm
from burnin.ticket.before_power.refusals import BeforePowerRefusal, SupplyTerm
from burnin.ticket.intake.damage import contact_name
from burnin.ticket.log.whole_ticket import WholeTicket


@dataclass(frozen=True)
class Point:
    """A point as `measure` calls it: ``supply_12v``, ``B14``, ``B14-trace``, ``ground-back``.

    `kind` is supply, diode, continuity, isolation or ground; `unit` is Ω or V (diode mode).
    """

    name: str
    kind: str
    unit: str
    contacts: tuple[str, ...] = ()


@dataclass(frozen=True)
class Wanted:
    """What a profile wants at a point; `short_below` 0: no value but 0 refuses the run.

    `title` is the profile's own text, or a term. `short_below` is in the point's unit. `open_is`
    and `open_why`: what it says when the meter shows OL; `short_why`: what a short is here, None
    where continuity is wanted; `between_is`: verdict of a value that is no short and no good.
    `usual_at_most`: more is hardly of this point.
    """

    point: Point
    title: Value
    limit: Limit | None
    required: bool
    open_is: Verdict = Verdict.FAIL
    open_why: ReasonCode = BeforePowerReason.OPEN_CIRCUIT
    short_below: float = 0.0
    short_why: ReasonCode | None = None
    between_is: Verdict = Verdict.FAIL
    twin: str = ""
    twin_within_v: float | None = None
    usual_at_most: float | None = None


_VERDICTS = {"fail": Verdict.FAIL, "unsure": Verdict.UNSURE}
_OPEN = {
    "blown_fuse": BeforePowerReason.OPEN_FUSE,
    "open_path": BeforePowerReason.OPEN_PATH,
}

Entry = Supply | DiodeReadings | RepairedPads | ExposedCopper

_SHORTED_NEIGHBOUR_OHM = 10.0
"""Less than this between a repaired contact and its neighbour is a solder bridge; no source."""


def entries(profile: Profile | None) -> tuple[Entry, ...]:
    """What the profile asks for before power, nothing where it asks for nothing."""
    return profile.before_power if profile else ()


def parse_point(text: str, profile: Profile | None) -> Point:
    """A point by its name; raises BadInput with the names there are."""
    name = text.strip()
    supplies = {s.name for s in entries(profile) if isinstance(s, Supply)}
    if name.lower() in supplies:
        return Point(name.lower(), "supply", OHM)
    if re.fullmatch(r"ground-[a-z0-9_]{1,30}", name.lower()):
        return Point(name.lower(), "ground", OHM)
    joined = re.fullmatch(r"([ABab]\d{1,3})-([ABab]\d{1,3}|trace)", name)
    if joined and joined[2] == "trace":
        contact = contact_name(joined[1])
        return Point(f"{contact}-trace", "continuity", OHM, (contact,))
    if joined:
        return _between(contact_name(joined[1]), contact_name(joined[2]))
    if re.fullmatch(r"[ABab]\d{1,3}", name):
        contact = contact_name(name)
        return Point(contact, "diode", VOLT, (contact,))
    there = tuple(sorted(supplies)) or (SupplyTerm.NONE(),)
    raise BadInput(BeforePowerRefusal.NO_POINT(name=name, there=there))


def _between(first: str, second: str) -> Point:
    neighbours = [c.name for c in beside(contacts()[first])]
    if second not in neighbours:
        raise BadInput(
            BeforePowerRefusal.NO_NEIGHBOURS(first=first, second=second, there=tuple(neighbours))
        )
    low, high = sorted((first, second), key=lambda c: int(c[1:]))
    return Point(f"{low}-{high}", "isolation", OHM, (low, high))


def wanted(profile: Profile | None, ticket: WholeTicket) -> tuple[Wanted, ...]:
    """Everything that the profile wants measured on this ticket's card, in order, each once."""
    found: dict[str, Wanted] = {}
    for entry in entries(profile):
        for want in _of_entry(entry, ticket):
            found.setdefault(want.point.name, want)
    return tuple(found.values())


def _of_entry(entry: Entry, ticket: WholeTicket) -> list[Wanted]:
    if isinstance(entry, Supply):
        low = entry.at_least_ohm if entry.at_least_ohm is not None else entry.short_below_ohm
        point = Point(entry.name, "supply", OHM)
        limit = Limit(lower=low)
        return [
            Wanted(
                point,
                entry.title,
                limit,
                entry.required,
                open_is=_VERDICTS[entry.open_is],
                open_why=_OPEN[entry.open_means],
                short_below=entry.short_below_ohm,
                short_why=BeforePowerReason.SHORT,
                between_is=_VERDICTS[entry.between_is],
                usual_at_most=entry.usual_at_most_ohm,
            )
        ]
    if isinstance(entry, DiodeReadings):
        return [_diode(entry, name) for name in entry.contacts]
    if isinstance(entry, RepairedPads):
        return _pads(entry, ticket)
    return [
        Wanted(
            Point(f"ground-{patch}", "ground", OHM),
            PointTerm.BARE_COPPER(patch=patch),
            Limit(upper=entry.at_most_ohm),
            entry.required,
            open_why=BeforePowerReason.OPEN_COPPER,
        )
        for patch in ticket.patches
    ]


def _diode(entry: DiodeReadings, name: str) -> Wanted:
    other = twin(contacts()[name])
    limit = (
        None
        if entry.at_least_v is None and entry.at_most_v is None
        else Limit(entry.at_least_v, entry.at_most_v)
    )
    return Wanted(
        Point(name, "diode", VOLT, (name,)),
        PointTerm.DIODE(contact=name),
        limit,
        entry.required,
        open_is=_VERDICTS[entry.open_is],
        open_why=BeforePowerReason.OPEN_CONTACT,
        short_below=entry.short_below_v,
        short_why=BeforePowerReason.SHORT_TO_GROUND,
        twin=other.name if other and entry.twin_within_v is not None else "",
        twin_within_v=entry.twin_within_v if other else None,
    )


def _pads(entry: RepairedPads, ticket: WholeTicket) -> list[Wanted]:
    found = []
    for name in ticket.repaired_contacts:
        if name not in contacts():
            continue  # a log that somebody made up: no edge connector has it, no meter finds it
        found.append(
            Wanted(
                Point(f"{name}-trace", "continuity", OHM, (name,)),
                PointTerm.TRACE(contact=name),
                Limit(upper=entry.continuity_at_most_ohm),
                entry.required,
                open_why=BeforePowerReason.OPEN_TRACE,
            )
        )
        for other in beside(contacts()[name]):
            if other.signal == contacts()[name].signal:
                continue  # two neighbours of one net are joined on the board
            point = _between(name, other.name)
            found.append(
                Wanted(
                    point,
                    PointTerm.PARTED(contacts=point.name),
                    Limit(lower=entry.isolation_at_least_ohm),
                    entry.required,
                    open_is=Verdict.PASS,
                    short_below=min(_SHORTED_NEIGHBOUR_OHM, entry.isolation_at_least_ohm),
                    short_why=BeforePowerReason.BRIDGE,
                )
            )
    return found
