"""What the sheets say of a repair besides its test: plain data, filled by whoever keeps tickets."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from burnin.core.meaning import Meaning, Owed, Reason, Term
from burnin.core.reading import Reading


@dataclass(frozen=True)
class SeenFact:
    """Damage at intake: `where` a contact or an area's short word, `what` a short word."""

    where: str
    what: str
    note: str = ""


@dataclass(frozen=True)
class RepairFact:
    """Work that was done; moments are UTC ISO-8601, `cured_utc` empty where nothing cures."""

    what: str
    contacts: tuple[str, ...] = ()
    time_utc: str = ""
    cured_utc: str = ""
    by: str = ""


@dataclass(frozen=True)
class OwedFact:
    """What is still owed; `stage` is a stage's name such as ``4-memory``, empty for none.

    `failed`: the stage was carried out and failed.
    """

    stage: str
    what: Owed
    reason: Reason
    from_utc: str = ""
    failed: bool = False


@dataclass(frozen=True)
class PhotoFact:
    """A photo, small, as JPEG; empty where its file is gone."""

    jpeg: bytes
    note: str
    sha256: str
    original: str
    for_customer: bool
    whole: bool


@dataclass(frozen=True)
class ShopFacts:
    """The shop as the sheets name it; `logo_kind` is svg, png or empty."""

    name: str = ""
    address: tuple[str, ...] = ()
    logo: bytes = b""
    logo_kind: str = ""
    warranty: str = ""
    cautions: tuple[str, ...] = ()
    paper: str = "a4"
    time_zone: str = "UTC"


@dataclass(frozen=True)
class StartFact:
    """One start of the bench and how the link stood.

    `off_s`: without power for how many seconds (None: nobody saw it); `why_not`: why a start that
    was not cold does not count; `judged` is a verdict's word, empty where it was never judged.
    """

    began_utc: str
    off_s: float | None
    cold: bool
    why_not: Reason | None
    reseated: bool
    judged: str
    reasons: tuple[Reason, ...] = ()


@dataclass(frozen=True)
class TicketFacts:
    """One repair, from intake to handover.

    `first_light` holds questions with their answers, `notes` and `log` (every event) moment, who
    and what, `runs` the id, verdict and reason of each. Text is somebody's own words.
    """

    number: str
    intake: Mapping[str, str]
    opened_utc: str
    expedited: bool = False
    seen: tuple[SeenFact, ...] = ()
    repairs: tuple[RepairFact, ...] = ()
    before_power: tuple[Reading, ...] = ()
    overruled: tuple[Meaning, ...] = ()
    corrected: tuple[Meaning, ...] = ()
    """Slips that were taken back or put right: what they were, why, who."""
    before_time: tuple[Meaning, ...] = ()
    """Stages that were carried out before their time, as somebody wrote."""
    first_light: tuple[tuple[Term, str | Meaning], ...] = ()
    starts: tuple[StartFact, ...] = ()
    owed: tuple[OwedFact, ...] = ()
    failed: tuple[Reason, ...] = ()
    """What failed since the card was last worked on, in whichever run: a later pass hides none."""
    no_power: tuple[Reason, ...] = ()
    """What stands against power on the card now: a short, smell or smoke."""
    photos: tuple[PhotoFact, ...] = ()
    notes: tuple[tuple[str, str, str], ...] = ()
    no_fix: str = ""
    flaws: tuple[str | Meaning, ...] = ()
    log: tuple[tuple[str, str, str | Meaning], ...] = ()
    runs: tuple[tuple[str, str, Reason | None], ...] = ()
    made_utc: str = ""
    """When the sheets are made; what has cured by then needs no advice."""

    def marks(self) -> dict[str, str]:
        """Contacts for the drawing of the edge: repaired ones, and damaged ones that are not."""
        found = {s.where: "damaged" for s in self.seen if s.where[:1] in ("A", "B")}
        return found | {c: "repaired" for r in self.repairs for c in r.contacts}
