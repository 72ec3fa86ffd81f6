"""A ticket as its log tells it: what came in, was seen, measured, done, and went out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from burnin.core.meaning import Reason

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

SMOKE = "smoke"
"""The point that an overruling names where smell or smoke stands against power."""


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

    `unit` is Ω or V (diode mode); `uncertainty` is expanded (k = 2), in the same unit. `file` is
    the name of the file that it came from, empty where somebody typed it.
    """

    point: str
    value: float | None
    unit: str
    uncertainty: float
    file: str
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
    """A stage put off: why, in somebody's own words, and from when it may be done.

    `from_utc` is empty where it may be done at any time.
    """

    stage: str
    words: str
    from_utc: str
    by: str


@dataclass(frozen=True)
class Override:
    """A measuring point (or `SMOKE`) that was overruled in writing, in somebody's own words."""

    point: str
    words: str
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
    """Everything a ticket holds. `folder` is results/<number>; times are UTC ISO-8601.

    `notes`: moment, who, and text. `no_fix`: why there is none, in somebody's own words. `closed`:
    when, empty while it is open. `flaws`: what of the log was torn.
    """

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
    flaws: tuple[Reason, ...] = ()

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
