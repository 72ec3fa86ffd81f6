"""What either end of the link counts: correctable errors by name, lane error bits, and chance."""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, field

ENDS = ("card", "port")
CORRECTABLE = (
    "RxErr", "BadTLP", "BadDLLP", "Rollover", "Timeout", "NonFatalErr", "CorrIntErr", "HeaderOF",
)
"""Correctable errors by the kernel's names, in the order of the AER status register's bits."""


@dataclass
class EndErrors:
    """What one end has counted since it was powered, and its sticky lane error bits."""

    correctable: dict[str, int] = field(default_factory=lambda: dict.fromkeys(CORRECTABLE, 0))
    lane_bits: int = 0

    def count(self, name: str, times: int) -> None:
        """Count an error `times` more."""
        self.correctable[name] += times


def poisson(chance: random.Random, mean: float) -> int:
    """A Poisson number; by the normal distribution from a mean of 40 on."""
    if mean <= 0.0:
        return 0
    if mean >= 40.0:
        return max(0, round(chance.gauss(mean, math.sqrt(mean))))
    left, number = math.exp(-mean), 0
    product = chance.random()
    while product > left:
        product *= chance.random()
        number += 1
    return number
