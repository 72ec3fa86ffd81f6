"""The answer to a record: what explains it, how surely, and what to do next; typed throughout."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from burnin.core.meaning import Reason
from burnin.diagnosis.claims import Alternatives, SuspectGroup
from burnin.diagnosis.evidence import Evidence
from burnin.diagnosis.next_step import Step
from burnin.diagnosis.outputs.faults import OutputSuspect
from burnin.diagnosis.parts.of_record import Part


class Answer(StrEnum):
    """How an explanation ends."""

    NOTHING_TO_EXPLAIN = "nothing to explain"
    EXPLAINED = "explained"
    CANNOT_TELL = "cannot tell"


@dataclass(frozen=True)
class Ranked:
    """One candidate: what it claims, its probability, who belongs to it.

    `one_fault` and `two_faults`: how much of the probability comes from one fault that shows, and
    from two. `speaks_for`, `against`: strongest first.
    """

    claim: Alternatives
    probability: float
    one_fault: float
    two_faults: float
    groups: tuple[SuspectGroup, ...]
    speaks_for: tuple[Reason, ...]
    against: tuple[Reason, ...]


@dataclass(frozen=True)
class Explanation:
    """What a record is explained by.

    `because` says why the answer is what it is; None where the first of `ranked` says it. `damaged`
    are the contacts that the ticket lists, `parts` what failed beside link and outputs. `made_up`:
    why all this may be made up, the record having been edited or damaged.
    """

    answer: Answer
    because: Reason | None
    evidence: Evidence
    damaged: tuple[str, ...]
    ranked: tuple[Ranked, ...]
    steps: tuple[Step, ...]
    outputs: tuple[OutputSuspect, ...] = ()
    parts: tuple[Part, ...] = ()
    made_up: tuple[Reason, ...] = ()
