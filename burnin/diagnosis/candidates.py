"""What a posterior hands out: hypotheses, candidates to explain a record, who belongs to them."""

from __future__ import annotations

from dataclasses import dataclass

from burnin.diagnosis.effects import Effect
from burnin.diagnosis.faults import Fault

Hypothesis = tuple[tuple[Fault, ...], float]
"""No, one or two faults, and their probability."""


@dataclass(frozen=True)
class Member:
    """A fault within a candidate and its share of all probability; `alone`: as the only fault."""

    fault: Fault
    probability: float
    alone: float


@dataclass(frozen=True)
class Account:
    """Two effects (`SILENT` for none) that account for the record, and their probability;
    `chance`: how probable the record is by them."""

    one: Effect
    other: Effect
    probability: float
    chance: float


@dataclass(frozen=True)
class Candidate:
    """One class of faults that predict the same: no more of the same looking tells them apart.

    `likely` are the two effects (`SILENT` for none) that carry most of it, `bench` the number of
    the kind of bench that they do it on. `one_fault` and `two_faults`: how much of the probability
    comes from one fault that shows, and from two that do.
    """

    number: int
    probability: float
    likely: tuple[Effect, Effect]
    bench: int
    one_fault: float
    two_faults: float
