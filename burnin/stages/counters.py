"""Differences of counters, which alone speak of a run (law 8)."""

from __future__ import annotations

from dataclasses import dataclass

from burnin.card.card import Counter

_NOT_ERRORS = ("bytes", "recovery", "l0_to")
"""Parts of names of counters that count traffic or normal events."""


@dataclass(frozen=True)
class CounterChange:
    """What counters did between two readings.

    `errors` and `other`: increase by ``end name``. `unusable`: why a counter says nothing, e.g.
    it was there only once, or fell although it does not wrap (the card was reset in between).
    """

    errors: dict[str, int]
    other: dict[str, int]
    unusable: tuple[str, ...]


def difference(before: tuple[Counter, ...], after: tuple[Counter, ...]) -> CounterChange:
    """Increase of every counter found in both, wrapped counters unwrapped once at most."""
    earlier = {(c.end, c.name): c for c in before}
    later = {(c.end, c.name): c for c in after}
    errors: dict[str, int] = {}
    other: dict[str, int] = {}
    unusable = [
        f"{end} {name}: read only {'before' if (end, name) in earlier else 'after'}"
        for end, name in sorted(earlier.keys() ^ later.keys())
    ]
    for key in sorted(earlier.keys() & later.keys()):
        first, last = earlier[key], later[key]
        label = f"{first.end} {first.name}"
        rise = last.value - first.value
        is_error = not any(part in first.name.lower() for part in _NOT_ERRORS)
        if rise < 0 and is_error:
            # An error counter does not wrap within a stage: it restarted with its card.
            unusable.append(f"{label}: fell from {first.value} to {last.value}, it restarted")
            continue
        if rise < 0 and first.modulus:
            rise %= first.modulus
        (errors if is_error else other)[label] = rise
    return CounterChange(errors, other, tuple(unusable))
