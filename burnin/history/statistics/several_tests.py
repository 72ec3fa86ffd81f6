"""Many questions at once: of what is called a finding, at most a stated share is chance.

Benjamini and Hochberg 1995, step-up; textbook relation, from memory.
"""

from __future__ import annotations

from collections.abc import Sequence

SHARE = 0.05
"""Of the findings of one answer, the share that may be chance."""


def corrected(p_values: Sequence[float | None]) -> tuple[float | None, ...]:
    """Each p corrected for the number of all; None where nothing was compared stays None."""
    told = sorted((p, place) for place, p in enumerate(p_values) if p is not None)
    found: list[float | None] = [None] * len(p_values)
    least = 1.0
    for rank in range(len(told), 0, -1):
        p, place = told[rank - 1]
        least = min(least, p * len(told) / rank)
        found[place] = least
    return tuple(found)


def is_claim(q: float | None) -> bool:
    """Whether a corrected p is a finding."""
    return q is not None and q <= SHARE
