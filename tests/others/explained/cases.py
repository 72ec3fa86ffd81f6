"""What a case holds: what the bench saw, and the truth that lay behind it.

As JSON a case has ``class`` (link, rail, output, memory, heat, power), ``visibility`` (link and
rail; all, no_root, no_counters, neither; else null), ``seen`` and ``truth``.

Visibility: without the root port (no_root) its counters, lane bits, `managed` and
`target_generation` are null, and the most that the link could is what the bench's set-up says of
the slot, or on some benches the card's own word; no_counters makes both error counts null; neither
is both.

``truth`` has the keys of `Fault`, then ``second`` (another fault or null), ``nuisance`` (words of
`NUISANCES`), ``shows`` (whether anything seen differs from what the same bench shows of a sound
card: an open ground may not), and what belongs to the class: ``memory_class``, ``rule``, ``bit``,
``sample``, ``pages_shuffled``, ``chips`` (memory), ``absent`` (link, rail: the card never came up),
``both_show`` (link: whether each of two faults changes what the other alone would show),
``output``, ``group`` (output), ``cause`` (heat, power).
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from typing import Any

CLASSES = ("link", "rail", "output", "memory", "heat", "power")
VISIBILITIES = ("all", "no_root", "no_counters", "neither")

KINDS = {
    "sound": "nothing is wrong with card or bench",
    "contact": "a contact of the card's edge",
    "gouge": "two to four contacts of the edge that lie side by side, scratched at once",
    "capacitor": "the coupling capacitor of a side A leg, on the card",
    "joint": "a cracked solder joint between edge and chip: sound cold, poor or gone warm",
    "slot spring": "a spring of the slot; contacts names the edge contact it touches",
    "riser": "the riser or its cable",
    "slot wiring": "the slot has fewer lanes than it is long",
    "host speed": "the host's set-up holds the link's rate down",
    "power saving": "the link saves power although traffic runs: slow at times, without errors",
    "power path": "the card's power path gives in under load and takes the link along",
    "seating": "the card is tilted or not fully in",
    "clock": "a contact of the reference clock (A13, A14)",
    "reset": "the contact of PERST# (A11)",
    "presence": "a contact of presence detect (A1, B81)",
    "ground": "a ground contact of the edge",
    "supply contact": "a contact that brings 12 V or 3.3 V, of the edge or of a plug",
    "sense line": "a sense contact of a power plug",
    "supply unit": "the supply unit sags",
    "power limit": "the card's power limit was set low",
    "rail short": "a supply rail of the card is shorted to ground",
    "output": "a contact or pair of a display connector, its supply, cable, monitor or driver",
    "memory": "memory; see memory_class",
    "heat": "the cooler or a sensor; see cause",
    "something else": "in no list",
}
"""Kinds of truth."""

NUISANCES = (
    "stuck bits",
    "noisy counters",
    "x16 or x1 only",
    "hidden reversal",
    "port reverses",
    "split slot",
    "masked errors",
    "card without lane register",
    "ticket elsewhere",
)

JsonDict = dict[str, Any]


@dataclass(frozen=True)
class Fault:
    """One fault: `effect` is open, open both, resistive, short, gone, or a word of its kind.

    `contacts` are names such as A25, B81, 8pin/4, dp/18; `lane` 0 to 15 and `side` A (card sends)
    or B (card receives) for what belongs to one lane's one direction.
    """

    kind: str
    contacts: tuple[str, ...] = ()
    lane: int | None = None
    side: str | None = None
    effect: str = ""
    warm_only: bool = False


@dataclass(frozen=True)
class Truth:
    """What lay behind a case; `details` are the keys of its class."""

    fault: Fault
    second: Fault | None = None
    nuisance: tuple[str, ...] = ()
    shows: bool = True
    details: JsonDict = field(default_factory=dict)

    def to_dict(self) -> JsonDict:
        """As plain JSON values."""
        return plain_dict(
            asdict(self.fault)
            | {
                "second": asdict(self.second) if self.second else None,
                "nuisance": self.nuisance,
                "shows": self.shows,
            }
            | self.details
        )


Ends = tuple[Any, Any]
"""What the card's end and the port's end say; None where an end can't be read."""


@dataclass(frozen=True)
class Look:
    """The link in one stage with traffic.

    `most_*` what both ends can by their own word or the bench's set-up; `width`, `generation` the
    least under traffic, `top_generation` the fastest under traffic; `errors` new corrected errors
    of the stage at card and port; `lanes_*` lanes whose bit is set in the lane error status
    register (8 GT/s and more, kept until cleared) of card and port at the stage's start and end;
    `managed` the port's bit that it lowered width or rate for reliability.
    """

    stage: str
    warm: bool
    most_width: int
    most_generation: int
    width: int | None
    generation: int | None
    top_generation: int | None
    idle_width: int | None
    errors: Ends
    lanes_before: Ends
    lanes_after: Ends
    managed: bool | None
    target_generation: int | None


@dataclass(frozen=True)
class ColdStart:
    """One start from cold: width and generation when first read, None if it did not come up."""

    came_up: bool
    width: int | None
    generation: int | None


@dataclass(frozen=True)
class Reading:
    """A meter's reading before power; None is an open line (over range).

    `ohm`: supply_12v and supply_3v3 from rail to ground; a lane contact of side A from finger to
    the near end of its capacitor; a ground to the bracket; a supply contact to the rail behind it;
    A1 and B81 to each other; others to ground. `volt_diode`: to ground; of side A lanes behind the
    capacitor. The key of a mode that was not used is left out.
    """

    point: str
    ohm: float | None = None
    volt_diode: float | None = None
    modes: tuple[str, ...] = ("ohm", "volt_diode")

    def to_dict(self) -> JsonDict:
        """As plain JSON values, without the modes that were not used."""
        return {"point": self.point} | {mode: getattr(self, mode) for mode in self.modes}


@dataclass(frozen=True)
class Ticket:
    """Contacts that the customer or the repairer named."""

    damaged: tuple[str, ...] = ()
    repaired: tuple[str, ...] = ()


@dataclass(frozen=True)
class Seen:
    """What the bench saw. `outputs`, `supply`, `words`, `heat` are described where drawn."""

    looks: tuple[Look, ...] = ()
    cold_starts: tuple[ColdStart, ...] = ()
    known_good: tuple[Look, ...] = ()
    absent: bool = False
    lost: bool = False
    beeps: int | None = None
    outputs: tuple[JsonDict, ...] = ()
    before_power: tuple[Reading, ...] = ()
    ticket: Ticket = Ticket()
    supply: JsonDict | None = None
    words: JsonDict | None = None
    heat: JsonDict | None = None

    def to_dict(self) -> JsonDict:
        """As plain JSON values."""
        told = {name: getattr(self, name) for name in self.__dataclass_fields__}
        told["before_power"] = [reading.to_dict() for reading in self.before_power]
        for name in ("looks", "cold_starts", "known_good"):
            told[name] = [asdict(item) for item in told[name]]
        told["ticket"] = asdict(self.ticket)
        return plain_dict(told)


@dataclass(frozen=True)
class Case:
    """One case."""

    class_: str
    visibility: str | None
    seen: Seen
    truth: Truth

    def to_dict(self) -> JsonDict:
        """As plain JSON values."""
        return {
            "class": self.class_,
            "visibility": self.visibility,
            "seen": self.seen.to_dict(),
            "truth": self.truth.to_dict(),
        }


def plain_dict(value: JsonDict) -> JsonDict:
    """The same as plain JSON values."""
    return {str(key): plain(item) for key, item in value.items()}


def plain(value: Any) -> Any:
    """Tuples as lists, numbers of numpy as Python's."""
    if isinstance(value, dict):
        return plain_dict(value)
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    return value.item() if hasattr(value, "item") else value
