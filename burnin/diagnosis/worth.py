"""The worth of a measurement: the expected fall of entropy over the causes, in bits.

It is the entropy of the measurement's outcome less the mean entropy of the outcome once the cause
is known (Lindley, Annals of Mathematical Statistics 27, 1956).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import TypeVar

Truth = TypeVar("Truth")
"""What may hold: faults of the link, or a suspect of the start."""
Outcomes = Mapping[str, float]
"""Chances of what a measurement may show, by a name of each; the names only tell them apart."""


def entropy_bits(chances: Iterable[float]) -> float:
    """Shannon entropy of chances that add up to 1, bits."""
    return -sum(p * math.log2(p) for p in chances if p > 0.0)


def expected_bits(
    causes: Sequence[tuple[Truth, float]], outcomes: Callable[[Truth], Outcomes]
) -> float:
    """What a measurement is expected to tell of the causes, bits; never below 0."""
    overall: dict[str, float] = {}
    known = 0.0
    for truth, probability in causes:
        chances = outcomes(truth)
        known += probability * entropy_bits(chances.values())
        for outcome, chance in chances.items():
            overall[outcome] = overall.get(outcome, 0.0) + probability * chance
    return max(0.0, entropy_bits(overall.values()) - known)
