"""What goes over the socket between a card's run and the keeper of its batch: one letter a packet.

Letters are plain data, as JSON with the letter's kind in ``is``. Whatever is no letter is nothing:
both ends go on without it.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any, get_type_hints

from burnin.core.meaning import Meaning, Prompt, Reason

MOST_BYTES = 32_768


@dataclass(frozen=True)
class Began:
    """A run is ready to begin: its record, and the process that works the card (0: none)."""

    record: str
    run_id: str
    worker_pid: int = 0


@dataclass(frozen=True)
class Asks:
    """A stage asks for leave; `ways` None: it cannot be told which links its traffic fills."""

    number: int
    stage: str
    watts: float | None
    step_w: float
    ways: list[str] | None
    worker_pid: int = 0


@dataclass(frozen=True)
class IsOver:
    """The load of an asking is off."""

    number: int


@dataclass(frozen=True)
class Reads:
    """The card's power by a sample that was taken after all letters before this one."""

    power_w: float


@dataclass(frozen=True)
class Shows:
    """How far the run is, for people: its stage, and what the sensors say.

    `done_count` of `stages_count` stages have ended, `bad_count` of them failed or were aborted.
    """

    kind: str
    own_title: str
    done_count: int
    stages_count: int
    bad_count: int
    power_w: float | None
    gpu_temp_c: float | None


@dataclass(frozen=True)
class Wants:
    """The technician is to be asked; one prompt of a run at a time."""

    number: int
    prompt: Prompt
    timeout_s: float


@dataclass(frozen=True)
class WantsNoMore:
    """Nobody is to answer that prompt any more."""

    number: int


@dataclass(frozen=True)
class HasEnded:
    """The run has come to its word."""

    verdict: str
    reason: Reason


@dataclass(frozen=True)
class Go:
    """Every card of the batch is ready: the run may begin."""


@dataclass(frozen=True)
class MayLoad:
    """Leave for an asking; `bounded`: there is a budget that it counts in."""

    number: int
    bounded: bool


@dataclass(frozen=True)
class MustWait:
    """No leave yet."""

    number: int
    why: Reason


@dataclass(frozen=True)
class MayNever:
    """No leave in this batch."""

    number: int
    why: Reason


@dataclass(frozen=True)
class IsAtRest:
    """The card counts as at rest again after an asking."""

    number: int


@dataclass(frozen=True)
class Answered:
    """The answer to a prompt; None: nobody gave one in time."""

    number: int
    text: str | None


OfRun = Began | Asks | IsOver | Reads | Shows | Wants | WantsNoMore | HasEnded
OfKeeper = Go | MayLoad | MustWait | MayNever | IsAtRest | Answered
_KINDS: Mapping[str, type] = {
    kind.__name__: kind
    for kind in (
        Began, Asks, IsOver, Reads, Shows, Wants, WantsNoMore, HasEnded,
        Go, MayLoad, MustWait, MayNever, IsAtRest, Answered,
    )
}  # fmt: skip


def as_packet(letter: OfRun | OfKeeper) -> bytes:
    """A letter as it goes over the socket."""
    told = {
        name: value.as_plain() if isinstance(value, Meaning) else value
        for name, value in ((f.name, getattr(letter, f.name)) for f in fields(letter))
    }
    return json.dumps({"is": type(letter).__name__, **told}, ensure_ascii=False).encode()


def letter_of(packet: bytes) -> OfRun | OfKeeper | None:
    """The letter that a packet is; None where it is none."""
    try:
        content = json.loads(packet)
        kind = _KINDS[content.pop("is")]
        hints = get_type_hints(kind)
        told = {name: _as(hints[name], value) for name, value in content.items()}
        letter: OfRun | OfKeeper = kind(**told)
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return None
    return letter


def _as(hint: Any, value: object) -> object:
    """A value as its field wants it; raises TypeError, ValueError."""
    if hint in (Reason, Prompt):
        if not isinstance(value, dict):
            raise TypeError("a meaning is an object")
        return hint.from_plain(value)
    if hint is float or (hint == float | None and value is not None):
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise TypeError("not a number")
        return float(value)
    if hint == list[str] | None:
        if value is not None and not (isinstance(value, list) and all(
            isinstance(one, str) for one in value
        )):
            raise TypeError("not a list of names")
        return value
    if not isinstance(value, hint) or (hint is int and isinstance(value, bool)):
        raise TypeError(f"not {hint}")
    return value
