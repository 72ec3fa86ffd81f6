"""What a guard is: it sees every sample in turn and may end the load.

Guards are causal: each decides on the samples so far, before the next is taken. They hold no
clock of their own and touch no hardware, so that `replay` can judge a record's samples anew.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from burnin.core.foreseen import StillLikely
from burnin.core.meaning import Cause, Check, Note, Reason
from burnin.core.sample import Sample


@dataclass(frozen=True)
class Trip:
    """A guard's decision to end the load.

    `reason`: what was seen and what was allowed. `suspect`: the part that is suspected. `check`:
    what the technician should look at. `probability`: of crossing the limit within the time that a
    stop needs, where the guard forecasts one. `likely`: the causes that may still be behind it, in
    the order in which to look at them; empty where there is but the one.
    """

    guard: str
    signal: str
    value: float | None
    limit: float | None
    reason: Reason
    suspect: Cause
    check: Check
    probability: float | None = None
    likely: tuple[StillLikely, ...] = ()


@dataclass(frozen=True)
class Expectation:
    """What a guard expects: the nearest limit, and seconds until it is crossed (None: never)."""

    guard: str
    signal: str
    limit: float
    crossing_in_s: float | None
    forecast: Note


class Guard(Protocol):
    """Watches samples; stateful, one a run."""

    @property
    def name(self) -> str:
        """Its name in the record."""
        ...

    def judge(self, sample: Sample) -> Trip | None:
        """Decide on this sample, in order of time; None lets the load go on."""
        ...

    def expectation(self) -> Expectation | None:
        """What it expects after the last sample, if anything."""
        ...
