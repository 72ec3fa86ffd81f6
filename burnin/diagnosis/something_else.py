"""What no model holds: how probable a record is by a fault that nobody thought of.

It may show itself anywhere, mildly or badly; later looks mostly show what the first one did. The
chances are beliefs, flat on purpose: they win where every model has to call the record a wonder.
"""

from __future__ import annotations

import math

from burnin.diagnosis.bench_nuisance import counted
from burnin.diagnosis.evidence import Evidence, LinkLook

_ABSENT, _LOST = 0.08, 0.08
_FULL = 0.5
_SAME_AGAIN = 0.8
_COUNTS = (0.45, 0.20, 0.17, 0.18)
_NO_BITS, _ALL_BITS = 0.55, 0.20
_MANAGED = 0.4


def chance_of_something_else(evidence: Evidence) -> float:
    """Probability of what a record shows, by something that is in no model."""
    if evidence.absent:
        return _ABSENT
    found = (1.0 - _ABSENT) * (_LOST if evidence.lost else 1.0 - _LOST)
    failed = evidence.starts.count(False)
    found *= 0.9 if not failed else 0.1 / len(evidence.starts)
    before: LinkLook | None = None
    for look in evidence.looks:
        if look.width is None and look.generation is None:
            continue
        found *= _look(look, before)
        before = look
    return found


def _look(look: LinkLook, before: LinkLook | None) -> float:
    widths = max(1, look.most_width.bit_length() - 1)
    found = _one_of(look.width, look.most_width, widths, None if before is None else before.width)
    speeds = max(1, look.most_generation - 1)
    earlier = None if before is None else before.generation
    found *= _one_of(look.generation, look.most_generation, speeds, earlier)
    if look.top_generation is not None:
        found *= 0.8 if look.top_generation == look.generation else 0.1
    if look.target_generation is not None:
        found *= 0.9 if look.target_generation == look.most_generation else 0.1 / speeds
    for place in (0, 1):
        count, lanes = look.errors[place], look.lanes[place]
        if count is not None:
            found *= _COUNTS[counted(count)]
        if lanes is not None:
            found *= _bits(look.most_width - len(look.stuck[place]), lanes - look.stuck[place])
    if look.managed is not None:
        found *= _MANAGED if look.managed else 1.0 - _MANAGED
    return found


def _one_of(seen: int | None, most: int, others: int, before: int | None) -> float:
    """Chance of a width or a generation: the best there is, any other, mostly as before."""
    if seen is None:
        return 1.0
    fresh = _FULL if seen == most else (1.0 - _FULL) / others
    if before is None:
        return fresh
    return (_SAME_AGAIN if seen == before else 0.0) + (1.0 - _SAME_AGAIN) * fresh


def _bits(width: int, lanes: frozenset[int]) -> float:
    """Chance of these lane error bits: none, or any number of lanes, any of them."""
    if not lanes or width < 1:
        return _NO_BITS
    count = min(len(lanes), width)
    some = (1.0 - _NO_BITS - _ALL_BITS) / width / math.comb(width, count)
    return some + (_ALL_BITS if count == width else 0.0)
