"""What the repeated computation may mean."""

from __future__ import annotations

from burnin.core.meaning import NoteCode, ReasonCode, SourceCode


class ComputeReason(ReasonCode):
    """Why a computation is not right. `unit` is an arithmetic unit; results are 32-bit words.

    `how` is the engine's own reason.
    """

    UNFINISHED = "compute_unfinished"
    CHANGED = "compute_changed", "results_count"
    CHANGED_FIRST_AT = (
        "compute_changed_first_at",
        "results_count",
        "unit",
        "repeat",
        "index",
        "expected",
        "got",
    )
    REFERENCE_WRONG = "compute_reference_wrong", "results_count", "unit"
    NOT_OFFERED = "compute_unit_not_offered", "how"


class ComputeSource(SourceCode):
    """How results were compared."""

    EVERY_REPEAT = "compute_every_repeat"
    REFERENCE = "compute_reference"
    OF_PROCESSORS = "compute_of_processors", "processors", "unit"


class ComputeNote(NoteCode):
    """What the stage does."""

    SAME_WORK = "compute_same_work"
