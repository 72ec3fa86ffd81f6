"""How much of the memory was tested, and for which kinds of fault."""

from __future__ import annotations

from collections.abc import Iterator

from burnin.core.reading import Limit, NotMeasured, Reading, judge, judge_text
from burnin.engine.job import MemoryResult
from burnin.stages.memory.meanings import MemoryReason, MemorySource
from burnin.stages.memory.settings import Memory

GIB = float(1 << 30)


def coverage_readings(
    settings: Memory, result: MemoryResult, free: int | NotMeasured, memory_bytes: int
) -> Iterator[Reading]:
    """Readings of what was tested.

    `free`: the card's own figure of free memory in bytes, which goes into the reason where the
    engine has none either; `memory_bytes`: that of its whole memory, 0: none.
    """
    yield judge("tested_gib", result.tested_bytes / GIB, "GiB", None, required=False)
    yield _fault_classes(result)
    unknown = free if isinstance(free, NotMeasured) else NotMeasured(MemoryReason.FREE_UNKNOWN())
    share_free: float | NotMeasured = unknown
    if result.free_bytes:
        share_free = result.tested_bytes / result.free_bytes
    yield judge(
        "share_of_free_tested",
        share_free,
        "",
        # The last per mille: buffers come in whole pages.
        Limit(lower=round(settings.share_of_free - 0.001, 4)),
        why_fail=MemoryReason.FREE_SHORT(),
    )
    share_all: float | NotMeasured = NotMeasured(MemoryReason.TOTAL_UNKNOWN())
    total_bytes = result.total_bytes or memory_bytes
    if total_bytes:
        share_all = result.tested_bytes / total_bytes
    yield judge(
        "share_of_all_tested",
        share_all,
        "",
        Limit(lower=settings.share_of_all_at_least),
        why_fail=MemoryReason.IN_USE(),
    )


def _fault_classes(result: MemoryResult) -> Reading:
    name, classes = "fault_classes_covered", result.fault_classes
    if not classes:
        ended = NotMeasured(MemoryReason.NO_PATTERN_ENDED())
        return judge_text(name, ended, None, required=False)
    told = ", ".join(classes)
    source = MemorySource.LOOKED_FOR(classes=classes)
    return judge_text(name, told, None, source=source, required=False)
