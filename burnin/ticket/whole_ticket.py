"""A ticket as its log tells it: what came in, was seen, measured, done, and went out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from burnin.record.event_log import Log, LogEvent

INTAKE_FIELDS = (
    "customer",
    "reference",
    "card",
    "serial",
    "fault",
    "accessories",
    "promised",
    "technician",
    "profile",
    "language",
)
"""Text fields that are taken at intake and may be corrected later."""


@dataclass(frozen=True)
class Damage:
    """What was seen: `where` is a contact (``B14``) or an area (``bracket``)."""

    where: str
    what: str
    note: str


@dataclass(frozen=True)
class Photo:
    """A picture in ticket/photos; `sha256` is that of the file as it was handed in."""

    file: str
    sha256: str
    original: str
    note: str
    for_customer: bool


@dataclass(frozen=True)
class Measured:
    """A value on the unpowered card. `value` None: over the meter's range (open).

    `unit` is Ω or V (diode mode); `uncertainty` is expanded (k = 2), in the same unit.
    """

    point: str
    value: float | None
    unit: str
    uncertainty: float
    source: str
    time_utc: str
    by: str


@dataclass(frozen=True)
class Repair:
    """Work that was done. `cured_utc` is empty where nothing has to cure."""

    what: str
    contacts: tuple[str, ...]
    patches: tuple[str, ...]
    cured_utc: str
    time_utc: str
    by: str


@dataclass(frozen=True)
class Deferral:
    """A stage put off: why, and from when it may be done (empty: at any time)."""

    stage: str
    reason: str
    from_utc: str
    by: str


@dataclass(frozen=True)
class Override:
    """A measuring point whose short was overridden in writing."""

    point: str
    reason: str
    by: str
    time_utc: str


@dataclass(frozen=True)
class FirstLight:
    """What was seen and heard when the card was first powered; empty: not observed."""

    answers: Mapping[str, str]
    ended_at_once: bool
    time_utc: str
    by: str


@dataclass(frozen=True)
class HandedOver:
    """A handover: folder name inside the ticket's, verdict and fingerprint as on the sheet."""

    folder: str
    verdict: str
    fingerprint: str
    time_utc: str


@dataclass(frozen=True)
class WholeTicket:
    """Everything a ticket holds. `folder` is results/<number>; times are UTC ISO-8601."""

    folder: Path
    number: str
    opened_utc: str
    intake: Mapping[str, str]
    expedited: bool = False
    damage: tuple[Damage, ...] = ()
    photos: tuple[Photo, ...] = ()
    measured: tuple[Measured, ...] = ()
    repairs: tuple[Repair, ...] = ()
    deferrals: Mapping[str, Deferral] = field(default_factory=dict)
    overrides: tuple[Override, ...] = ()
    first_lights: tuple[FirstLight, ...] = ()
    notes: tuple[tuple[str, str, str], ...] = ()
    no_fix: str = ""
    handed_over: tuple[HandedOver, ...] = ()
    closed: str = ""
    flaws: tuple[str, ...] = ()

    @property
    def last_repair_utc(self) -> str:
        """When the card was last worked on, empty if never."""
        return max((r.time_utc for r in self.repairs), default="")

    @property
    def repaired_contacts(self) -> tuple[str, ...]:
        """Contacts that were repaired, each once, in order of the work."""
        return tuple(dict.fromkeys(c for r in self.repairs for c in r.contacts))

    @property
    def patches(self) -> tuple[str, ...]:
        """Patches of copper that were laid bare."""
        return tuple(dict.fromkeys(p for r in self.repairs for p in r.patches))

    def latest(self, point: str) -> Measured | None:
        """The newest value at a point, None where nobody measured."""
        found = [m for m in self.measured if m.point == point]
        return found[-1] if found else None


def fold(folder: Path, log: Log) -> WholeTicket | None:
    """The ticket as of the end of its log, None where it was never opened."""
    ticket: WholeTicket | None = None
    for event in log.events:
        ticket = _opened(folder, event) if ticket is None else _next(ticket, event)
    return replace(ticket, flaws=log.flaws) if ticket else None


def _opened(folder: Path, event: LogEvent) -> WholeTicket | None:
    if event.kind != "opened":
        return None
    return WholeTicket(
        folder,
        _text(event, "number"),
        event.time_utc,
        {name: _text(event, name) for name in INTAKE_FIELDS},
        expedited=bool(event.fields.get("expedited")),
    )


def _next(ticket: WholeTicket, event: LogEvent) -> WholeTicket:
    change = _CHANGES.get(event.kind)
    return change(ticket, event) if change else ticket


def _text(event: LogEvent, name: str) -> str:
    value = event.fields.get(name)
    return value if isinstance(value, str) else ""


def _texts(event: LogEvent, name: str) -> tuple[str, ...]:
    value = event.fields.get(name)
    return tuple(str(v) for v in value) if isinstance(value, list) else ()


def _number(event: LogEvent, name: str) -> float | None:
    value = event.fields.get(name)
    good = isinstance(value, int | float) and not isinstance(value, bool)
    return float(value) if good and isinstance(value, int | float) else None


def _corrected(ticket: WholeTicket, event: LogEvent) -> WholeTicket:
    fresh = {n: _text(event, n) for n in INTAKE_FIELDS if n in event.fields}
    expedited = event.fields.get("expedited", ticket.expedited)
    return replace(ticket, intake={**ticket.intake, **fresh}, expedited=bool(expedited))


def _seen(ticket: WholeTicket, event: LogEvent) -> WholeTicket:
    damage = Damage(_text(event, "where"), _text(event, "what"), _text(event, "note"))
    return replace(ticket, damage=(*ticket.damage, damage))


def _photo(ticket: WholeTicket, event: LogEvent) -> WholeTicket:
    photo = Photo(
        _text(event, "file"),
        _text(event, "sha256"),
        _text(event, "original"),
        _text(event, "note"),
        bool(event.fields.get("for_customer")),
    )
    return replace(ticket, photos=(*ticket.photos, photo))


def _measured(ticket: WholeTicket, event: LogEvent) -> WholeTicket:
    value = Measured(
        _text(event, "point"),
        _number(event, "value"),
        _text(event, "unit"),
        _number(event, "uncertainty") or 0.0,
        _text(event, "source"),
        event.time_utc,
        event.by,
    )
    return replace(ticket, measured=(*ticket.measured, value))


def _overridden(ticket: WholeTicket, event: LogEvent) -> WholeTicket:
    made = Override(_text(event, "point"), _text(event, "reason"), event.by, event.time_utc)
    return replace(ticket, overrides=(*ticket.overrides, made))


def _repaired(ticket: WholeTicket, event: LogEvent) -> WholeTicket:
    made = Repair(
        _text(event, "what"),
        _texts(event, "contacts"),
        _texts(event, "patches"),
        _text(event, "cured_utc"),
        event.time_utc,
        event.by,
    )
    return replace(ticket, repairs=(*ticket.repairs, made))


def _deferred(ticket: WholeTicket, event: LogEvent) -> WholeTicket:
    stage = _text(event, "stage")
    made = Deferral(stage, _text(event, "reason"), _text(event, "from_utc"), event.by)
    return replace(ticket, deferrals={**ticket.deferrals, stage: made})


def _undeferred(ticket: WholeTicket, event: LogEvent) -> WholeTicket:
    stage = _text(event, "stage")
    return replace(ticket, deferrals={k: v for k, v in ticket.deferrals.items() if k != stage})


def _first_light(ticket: WholeTicket, event: LogEvent) -> WholeTicket:
    answers = event.fields.get("answers")
    made = FirstLight(
        {str(k): str(v) for k, v in answers.items()} if isinstance(answers, dict) else {},
        bool(event.fields.get("ended_at_once")),
        event.time_utc,
        event.by,
    )
    return replace(ticket, first_lights=(*ticket.first_lights, made))


def _noted(ticket: WholeTicket, event: LogEvent) -> WholeTicket:
    note = (event.time_utc, event.by, _text(event, "text"))
    return replace(ticket, notes=(*ticket.notes, note))


def _no_fix(ticket: WholeTicket, event: LogEvent) -> WholeTicket:
    return replace(ticket, no_fix=_text(event, "reason"))


def _handed_over(ticket: WholeTicket, event: LogEvent) -> WholeTicket:
    made = HandedOver(
        _text(event, "folder"),
        _text(event, "verdict"),
        _text(event, "fingerprint"),
        event.time_utc,
    )
    return replace(ticket, handed_over=(*ticket.handed_over, made))


def _closed(ticket: WholeTicket, event: LogEvent) -> WholeTicket:
    return replace(ticket, closed=event.time_utc)


def _reopened(ticket: WholeTicket, event: LogEvent) -> WholeTicket:  # noqa: ARG001
    return replace(ticket, closed="", no_fix="")


_CHANGES = {
    "corrected": _corrected,
    "seen": _seen,
    "photo": _photo,
    "measured": _measured,
    "overridden": _overridden,
    "repaired": _repaired,
    "deferred": _deferred,
    "undeferred": _undeferred,
    "first_light": _first_light,
    "noted": _noted,
    "no_fix": _no_fix,
    "handed_over": _handed_over,
    "closed": _closed,
    "reopened": _reopened,
}
