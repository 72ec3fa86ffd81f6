"""What explains a link that went down for moments and came back, as the kernel's log tells it.

The link stages may have found nothing: a moment falls between their looks. Weights are beliefs of
a bench (common practice, no source): a joint or contact that opens when the board moves or warms
comes first, then how the card sits, a riser, and power that gives in.
"""

from __future__ import annotations

from burnin.card.kernel_log.meanings import KernelReason
from burnin.core.meaning import Cause
from burnin.core.reading import Verdict
from burnin.diagnosis.meanings import MomentFault
from burnin.record.reader import Record

_WEIGHTS = {
    MomentFault.OPENS_FOR_MOMENTS: 0.46, MomentFault.SEAT_OR_SLOT: 0.20, MomentFault.POWER: 0.16,
    MomentFault.RISER: 0.10, MomentFault.SOMETHING_ELSE: 0.08,
}  # fmt: skip
_DOWN = (KernelReason.LINK_DOWN, KernelReason.PORT_CONTAINED)


def stages_with_moments(record: Record) -> tuple[str, ...]:
    """Stages in which a link that stayed in the end was seen to go down."""
    found = [
        reading.stage
        for reading in record.readings
        if reading.verdict is Verdict.FAIL and reading.reason is not None
        if any(part.means(*_DOWN) for part in reading.reason.parts())
    ]
    return tuple(dict.fromkeys(found))


def explain_moments() -> tuple[tuple[Cause, float], ...]:
    """Causes of a link that goes down for moments, most probable first."""
    return tuple((cause(), weight) for cause, weight in _WEIGHTS.items())
