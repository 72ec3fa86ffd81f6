"""What the comment lines at the head of a recording say: limits, cooling, room, plan."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass

from burnin.core.errors import BadInput
from burnin.core.meaning import Reason
from burnin.replay.reasons import ReplayRefusal

WAYS_OF_COOLING = ("fans", "water", "stream")
_ALLOWED_C = {
    "limit_c": (-20.0, 125.0),
    "hotspot_limit_c": (-20.0, 125.0),
    "ambient_c": (-60.0, 100.0),
}
"""Limits as guards take them; a room that people can work in and then some."""
MOST_PLAN_STEPS = 1000
"""Of a plan; each costs every forecast time."""


@dataclass
class Known:
    """What the comment lines say; None where they are silent."""

    limit_c: float | None = None
    hotspot_limit_c: float | None = None
    ambient_c: float | None = None
    has_fan: bool | None = None
    cooling: str | None = None
    plan: tuple[tuple[float, float], ...] | None = None


class _NotAllowed(ValueError):
    """A comment line says what cannot be."""

    def __init__(self, reason: Reason) -> None:
        super().__init__(reason)
        self.reason = reason


def take_known(known: Known, file: str, number: int, text: str) -> None:
    """One comment line; one without `key = value`, or of an unknown key, is plain comment."""
    key, equals, value = (part.strip() for part in text.partition("="))
    if not equals or key not in Known.__dataclass_fields__:
        return
    try:
        if key == "plan":
            known.plan = _plan(value)
        elif key == "has_fan":
            known.has_fan = _yes(value)
        elif key == "cooling":
            known.cooling = _one_of(value, WAYS_OF_COOLING)
        else:
            degrees, (least, most) = float(value), _ALLOWED_C[key]
            if not least <= degrees <= most:
                raise _NotAllowed(ReplayRefusal.TEMPERATURE(least=least, most=most))
            setattr(known, key, degrees)
    except (ValueError, TypeError) as error:
        why = error.reason if isinstance(error, _NotAllowed) else ReplayRefusal.NO_NUMBER()
        raise BadInput(
            ReplayRefusal.HEAD(file=file, line=number, key=key, text=value, why=why)
        ) from error


def _yes(value: str) -> bool:
    word = value.lower()
    if word in {"true", "yes", "1"}:
        return True
    if word in {"false", "no", "0"}:
        return False
    raise _NotAllowed(ReplayRefusal.YES_OR_NO())


def _one_of(value: str, words: tuple[str, ...]) -> str:
    word = value.strip("\"' ").lower()
    if word not in words:
        raise _NotAllowed(ReplayRefusal.ONE_OF(there=words))
    return word


def _plan(value: str) -> tuple[tuple[float, float], ...]:
    """`[[0, 150], [30, 300]]`: from second, watts; sorted, finite, not negative."""
    try:
        steps = tuple((float(start), float(watts)) for start, watts in json.loads(value))
    except (ValueError, TypeError, OverflowError, RecursionError) as error:
        raise _NotAllowed(ReplayRefusal.NO_PLAN()) from error
    starts = [s for s, _ in steps]
    if not steps or starts != sorted(starts) or not all(map(math.isfinite, starts)):
        raise _NotAllowed(ReplayRefusal.PLAN_BACKWARDS())
    if any(not 0.0 <= w <= 5000.0 for _, w in steps):
        raise _NotAllowed(ReplayRefusal.PLAN_POWER())
    if len(steps) > MOST_PLAN_STEPS:
        raise _NotAllowed(ReplayRefusal.PLAN_TOO_LONG(most_count=MOST_PLAN_STEPS))
    return steps
