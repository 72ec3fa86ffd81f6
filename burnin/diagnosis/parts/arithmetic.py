"""What explains wrong results of a card's arithmetic: chip, supply, heat, or its memory.

Weights are beliefs of a bench (estimate, no source): results that change from repeat to repeat are
made by the chip or by what feeds it; where words of memory fail too, these come first. What is
wrong only while all parts work is first of all a matter of what feeds them.
"""

from __future__ import annotations

from burnin.core.meaning import Cause
from burnin.core.reading import Verdict, reading_subject
from burnin.diagnosis.meanings import ComputeFault
from burnin.record.reader import Record

COMPUTE, MEMORY, ALL_AT_ONCE = "compute", "memory", "all_at_once"
_WRONG = ("results_that_changed", "wrong_against_processor")
_TOGETHER = ("wrong_together", "wrong_in_steps", "first_wrong_together", "first_wrong_in_steps")
_ALONE = {
    ComputeFault.CHIP: 0.60, ComputeFault.SUPPLY: 0.24, ComputeFault.MEMORY: 0.06,
    ComputeFault.SOMETHING_ELSE: 0.10,
}  # fmt: skip
_ONLY_TOGETHER = {
    ComputeFault.SUPPLY: 0.66, ComputeFault.CHIP: 0.20, ComputeFault.MEMORY: 0.06,
    ComputeFault.SOMETHING_ELSE: 0.08,
}  # fmt: skip
_WITH_MEMORY = {
    ComputeFault.MEMORY: 0.62, ComputeFault.SUPPLY: 0.20, ComputeFault.CHIP: 0.12,
    ComputeFault.SOMETHING_ELSE: 0.06,
}  # fmt: skip


def explain_compute(record: Record) -> tuple[tuple[Cause, float], ...]:
    """Causes of wrong results, most probable first; empty where none was wrong."""
    kinds = {stage.stage: stage.kind for stage in record.run.stages}
    failed = [r for r in record.readings if r.verdict is Verdict.FAIL]
    heads = [(kinds.get(r.stage), *reading_subject(r.name)) for r in failed]
    if not any(kind == COMPUTE and head in _WRONG for kind, head, _ in heads):
        together = any(
            kind == ALL_AT_ONCE and head in _TOGETHER and part.startswith(COMPUTE)
            for kind, head, part in heads
        )
        return tuple((cause(), weight) for cause, weight in _ONLY_TOGETHER.items() if together)
    in_memory = any(kinds.get(r.stage) == MEMORY for r in failed)
    weights = _WITH_MEMORY if in_memory else _ALONE
    return tuple((cause(), weight) for cause, weight in weights.items())
