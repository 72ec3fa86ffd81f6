"""What the memory's own protection (ECC) counted while it worked, corrected errors included."""

from __future__ import annotations

from collections.abc import Sequence

from burnin.core.reading import Limit, NotMeasured, Reading, judge, not_measured
from burnin.stages.counters import Counted, difference, rises
from burnin.stages.memory.meanings import MemoryReason, MemorySource

MEMORY_ERRORS = "memory_errors"
"""Of `CountersRead`: what the memory's own protection counted."""


def own_errors(
    before: Sequence[Counted] | NotMeasured, after: Sequence[Counted] | NotMeasured
) -> Reading:
    """New errors by the counters before and after."""
    name = "new_memory_errors"
    if isinstance(before, NotMeasured):
        return not_measured(name, "", before.reason, required=False)
    if isinstance(after, NotMeasured):
        return not_measured(name, "", after.reason, required=False)
    change = difference(before, after)
    if change.broken:
        broken = MemoryReason.COUNTERS_BROKEN(reasons=tuple(change.broken.values()))
        return not_measured(name, "", broken)
    errors = change.errors
    return judge(
        name,
        float(sum(errors.values())),
        "",
        Limit(0, 0),
        source=MemorySource.PROTECTION_COUNTERS(counters_count=len(errors)),
        required=False,
        why_fail=MemoryReason.PROTECTION_COUNTED(risen=rises(errors)),
    )
