"""One thing tried: whether this account has the right, and what came of it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from burnin.card.file_errors import FileReason
from burnin.card.kernel_log.meanings import KernelReason
from burnin.card.pci.reasons import ConfigReason
from burnin.card.sources.nvml_errors import NvmlError
from burnin.core.meaning import Meaning, Reason, distinct
from burnin.core.reading import NotMeasured
from burnin.engine.cuda.cuda_errors import CudaReason
from burnin.run.rights.meanings import RightSeen
from burnin.run.rights.things import Thing

REFUSED = (
    FileReason.NO_PERMISSION,
    ConfigReason.CUT_WITHOUT_PRIVILEGE,
    NvmlError.NO_PERMISSION,
    KernelReason.JOURNAL_SILENT,
    CudaReason.NOT_PERMITTED,
)
"""Reasons that say: the thing is there, and is kept from this account."""


class State(StrEnum):
    """Whether this account has the right to a thing, as far as a trial shows it."""

    YES = "yes"
    PART = "part"
    NO = "no"
    NOT_HERE = "not_here"
    NOT_TRIED = "not_tried"


@dataclass(frozen=True)
class Trial:
    """What came of a thing; `address` is that of the card, empty where it is the bench's."""

    thing: Thing
    state: State
    seen: Meaning
    address: str = ""


def refused(reason: Reason) -> bool:
    """Whether a reason says that a right is lacking, itself or in one of its parts."""
    return any(part.means(*REFUSED) for part in reason.parts())


def of_answers(thing: Thing, answers: Iterable[object], address: str = "") -> Trial:
    """A thing by what its readers answered; an answer is a value or why there is none.

    What a card or driver does not offer takes no right: where all else is told the right is there.
    """
    asked = tuple(answers)
    missing = [answer.reason for answer in asked if isinstance(answer, NotMeasured)]
    kept_back = distinct([reason for reason in missing if refused(reason)])
    told = len(asked) - len(missing)
    if kept_back and told:
        why = RightSeen.TOLD_BUT(told_count=told, asked_count=len(asked), why=kept_back)
        return Trial(thing, State.PART, why, address)
    if kept_back:
        return Trial(thing, State.NO, RightSeen.NOT_TOLD(why=kept_back), address)
    if not told:
        return Trial(
            thing, State.NOT_HERE, RightSeen.NOT_TOLD(why=distinct(missing)), address
        )
    if not missing:
        return Trial(thing, State.YES, RightSeen.TOLD(), address)
    seen = RightSeen.TOLD_OF(told_count=told, asked_count=len(asked))
    return Trial(thing, State.YES, seen, address)
