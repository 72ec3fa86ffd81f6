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

BOUND = "bound"
"""What a `CardEvent` is called that binds the card."""
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
    """Work that was done. `cured_utc` is empty where nothing has to cure.

    `set_on_s`: by how much the bench's clock was set on since, less than 0 where it was set back.
    `number`: which of the ticket's repairs it is, from 1; one that was taken back keeps its own.
    """

    what: str
    contacts: tuple[str, ...]
    patches: tuple[str, ...]
    cured_utc: str
    time_utc: str
    by: str
    set_on_s: float = 0.0
    number: int = 0


@dataclass(frozen=True)
class Correction:
    """A slip that somebody took back or put right: what it was, why, who, when.

    Exactly one of `value` and `repair` stands there, as it was before. `cured_utc`: until when that
    repair cures from then on, empty where it need not; None where it was taken back altogether.
    """

    words: str
    time_utc: str
    by: str
    value: Measured | None = None
    repair: Repair | None = None
    cured_utc: str | None = None

    @property
    def took_repair_back(self) -> bool:
        """Whether a repair counts no longer."""
        return self.repair is not None and self.cured_utc is None


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
class CardEvent:
    """The card was bound, or a part of it replaced.

    `what` is ``bound``, ``firmware`` or ``board``. `facts`, of a card that was bound, are as the
    log holds them; `note` is what somebody wrote of a replacement.
    """

    what: str
    simulated: bool
    facts: Mapping[str, object]
    note: str
    time_utc: str
    by: str

    @property
    def is_work(self) -> bool:
        """Whether the card is another since: what was shown before must be shown again."""
        return self.what != BOUND


@dataclass(frozen=True)
class RunListed:
    """A run as the log tells it; `head` and `data_sha256` as of its end, empty until then.

    `other_card`: it was carried out on another card than the ticket's, as somebody said.
    `works_since`: numbers of the repairs since it began, 0 for a part that was replaced.
    """

    run: str
    simulated: bool
    other_card: bool = False
    ended: bool = False
    verdict: str = ""
    head: str = ""
    data_sha256: str = ""
    works_since: frozenset[int] = frozenset()

    @property
    def before_work(self) -> bool:
        """Whether the card was worked on since it began, or a part of it replaced."""
        return bool(self.works_since)


@dataclass(frozen=True)
class NowEvent:
    """Stages that a run carried out before their time, and why, in somebody's own words."""

    run: str
    words: str
    stages: tuple[str, ...]
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
    when, empty while it is open. `flaws`: what of the log was torn. `simulated`: the ticket is
    about the simulated machine; no run of a real card counts for it, and the other way round.
    `runs_listed`: every run is in `runs` (tickets of older versions list none). `head_kept`: the
    shop's key vouches for the log. `former_profiles`: what the ticket's profile was before it was
    corrected. `clock_lags_s`: by how much the bench's clock stands before the log's last event.
    `corrections`: slips that were taken back; what they were is in no other field any more.
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
    simulated: bool = False
    card_events: tuple[CardEvent, ...] = ()
    runs_listed: bool = False
    head_kept: bool = False
    runs: Mapping[str, RunListed] = field(default_factory=dict)
    nows: tuple[NowEvent, ...] = ()
    former_profiles: tuple[str, ...] = ()
    clock_lags_s: float = 0.0
    corrections: tuple[Correction, ...] = ()

    @property
    def last_repair_utc(self) -> str:
        """When the card was last worked on, or a part of it replaced; empty if never."""
        worked = [r.time_utc for r in self.repairs]
        return max([*worked, *(e.time_utc for e in self.card_events if e.is_work)], default="")

    @property
    def last_replaced_utc(self) -> str:
        """When a part of the card was last replaced, empty if never."""
        return max((e.time_utc for e in self.card_events if e.is_work), default="")

    @property
    def board_replaced_utc(self) -> str:
        """When the board was last replaced, empty if never."""
        return max((e.time_utc for e in self.card_events if e.what == "board"), default="")

    @property
    def repaired_contacts(self) -> tuple[str, ...]:
        """Contacts that were repaired, each once, in order of the work."""
        return tuple(dict.fromkeys(c for r in self.repairs for c in r.contacts))

    @property
    def patches(self) -> tuple[str, ...]:
        """Patches of copper that were laid bare."""
        return tuple(dict.fromkeys(p for r in self.repairs for p in r.patches))

    def reason_of_now(self, run: str) -> str:
        """Why a run carried stages out before their time, empty where it did not."""
        return next((now.words for now in reversed(self.nows) if now.run == run), "")

    def latest(self, point: str) -> Measured | None:
        """The newest value at a point, None where nobody measured."""
        found = [m for m in self.measured if m.point == point]
        return found[-1] if found else None

    def taken_back_last(self, point: str) -> Measured | None:
        """A value at a point that was taken back where nobody measured anew since; else None."""
        back = [c.value for c in self.corrections if c.value and c.value.point == point]
        there = self.latest(point)
        fresh = [m for m in back if there is None or m.time_utc > there.time_utc]
        return max(fresh, key=lambda m: m.time_utc, default=None)
