"""How often each class of fault shows each look: beliefs, stated here once; Bayes' rule follows.

All figures are estimates from what the parts do: a line touches one bit, a silent chip reads as its
bus rests, an address line lets words read what others were given, heat and supply scatter.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from burnin.diagnosis.memory_fault.answer import ClassChance, FaultClass
from burnin.diagnosis.memory_fault.reach import Reach
from burnin.diagnosis.memory_fault.word_looks import (
    Again,
    Flips,
    Got,
    Patterns,
    Warmth,
    WordLooks,
)

_F = FaultClass
_ORDER = (
    *(_F.DATA_LINE, _F.ADDRESS_LINE, _F.CHIP, _F.BANK, _F.ROW, _F.COLUMN),
    *(_F.HEAT, _F.SUPPLY, _F.CELLS, _F.ELSE),
)
_Table = Mapping[str, tuple[float, ...]]

_BEFOREHAND = (0.14, 0.09, 0.13, 0.10, 0.10, 0.10, 0.12, 0.10, 0.10, 0.02)

#               data    addr    chip    bank    row     column  heat    supply  cells   else
_REACH: _Table = {
    Reach.CHANNEL: (0.900, 0.900, 0.900, 0.030, 0.002, 0.005, 0.100, 0.040, 0.005, 0.20),
    Reach.BANK: (0.015, 0.150, 0.015, 0.920, 0.010, 0.040, 0.010, 0.005, 0.005, 0.20),
    Reach.COLUMN: (0.010, 0.010, 0.005, 0.030, 0.010, 0.930, 0.005, 0.002, 0.010, 0.15),
    Reach.WINDOW: (0.010, 0.010, 0.010, 0.015, 0.950, 0.010, 0.005, 0.005, 0.030, 0.15),
    Reach.PLACES: (0.005, 0.005, 0.005, 0.005, 0.030, 0.030, 0.030, 0.010, 0.900, 0.10),
    Reach.UNTOLD: (0.200, 0.200, 0.200, 0.150, 0.010, 0.050, 0.200, 0.200, 0.010, 0.20),
    Reach.SCATTERED: (0.040, 0.030, 0.050, 0.060, 0.005, 0.010, 0.850, 0.950, 0.080, 0.20),
}  # fmt: skip
_FLIPS: _Table = {
    Flips.ONE_BIT: (0.930, 0.030, 0.010, 0.060, 0.080, 0.500, 0.006, 0.004, 0.150, 0.25),
    Flips.FEW_BITS: (0.050, 0.060, 0.020, 0.080, 0.120, 0.300, 0.050, 0.030, 0.350, 0.25),
    Flips.SINGLE: (0.010, 0.030, 0.010, 0.120, 0.150, 0.120, 0.850, 0.060, 0.450, 0.25),
    Flips.MANY: (0.010, 0.880, 0.960, 0.740, 0.650, 0.080, 0.080, 0.900, 0.050, 0.25),
}
_GOT: _Table = {
    Got.REST: (0.010, 0.010, 0.840, 0.200, 0.150, 0.030, 0.010, 0.010, 0.030, 0.20),
    Got.ALIAS: (0.003, 0.750, 0.003, 0.003, 0.003, 0.003, 0.003, 0.003, 0.003, 0.10),
    Got.OTHER: (0.987, 0.240, 0.157, 0.797, 0.847, 0.967, 0.987, 0.987, 0.967, 0.70),
}
_WARMTH: _Table = {
    Warmth.WARM_ONLY: (0.150, 0.100, 0.100, 0.100, 0.100, 0.100, 0.930, 0.250, 0.120, 0.25),
    Warmth.ANY: (0.850, 0.900, 0.900, 0.900, 0.900, 0.900, 0.070, 0.750, 0.880, 0.75),
    Warmth.UNKNOWN: (1.0,) * 10,
}
_PATTERNS: _Table = {
    Patterns.ADDRESS_BOUND: (0.030, 0.650, 0.030, 0.030, 0.030, 0.030, 0.030, 0.150, 0.060, 0.15),
    Patterns.HEAVY: (0.050, 0.050, 0.050, 0.050, 0.060, 0.060, 0.100, 0.650, 0.100, 0.20),
    Patterns.ANY: (0.920, 0.300, 0.920, 0.920, 0.910, 0.910, 0.870, 0.200, 0.840, 0.65),
    Patterns.UNKNOWN: (1.0,) * 10,
}
_AGAIN: _Table = {
    Again.OFTEN: (0.30, 0.25, 0.30, 0.30, 0.40, 0.35, 0.15, 0.02, 0.94, 0.30),
    Again.SOMETIMES: (0.30, 0.30, 0.30, 0.30, 0.30, 0.30, 0.35, 0.08, 0.04, 0.30),
    Again.NEVER: (0.40, 0.45, 0.40, 0.40, 0.30, 0.35, 0.50, 0.90, 0.02, 0.40),
    Again.UNKNOWN: (1.0,) * 10,
}
_TRUST = 1.1
"""Looks are not quite independent: their logarithms count for so much; estimate."""
_DOUBT = 0.01
"""What is spread over all classes, because no belief covers everything; estimate."""


def chances(reach: Reach, looks: WordLooks) -> Sequence[ClassChance]:
    """Probabilities of all classes given what was seen, most probable first; they sum to 1."""
    seen = (
        _REACH[reach],
        _FLIPS[looks.flips],
        _GOT[looks.got],
        _WARMTH[looks.warmth],
        _PATTERNS[looks.patterns],
        _AGAIN[looks.again],
    )
    weights = [
        before * math.exp(_TRUST * sum(math.log(look[n]) for look in seen))
        for n, before in enumerate(_BEFOREHAND)
    ]
    whole = sum(weights)
    found = [
        ClassChance(fault, (1.0 - _DOUBT) * weight / whole + _DOUBT / len(_ORDER))
        for fault, weight in zip(_ORDER, weights, strict=True)
    ]
    return sorted(found, key=lambda chance: -chance.probability)
