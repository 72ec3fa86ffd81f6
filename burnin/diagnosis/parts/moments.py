"""What explains a link that went down for moments and came back, as the kernel's log tells it.

The link stages may have found nothing: a moment falls between their looks. Weights are beliefs of
a bench (common practice, no source): a joint or contact that opens when the board moves or warms
comes first, then how the card sits, a riser, and power that gives in. What came while somebody
moved one place says the more for a joint there; a power plug that was moved, for its contacts.
"""

from __future__ import annotations

from burnin.card.kernel_log.meanings import KernelReason
from burnin.core.meaning import Cause
from burnin.core.reading import Verdict, reading_subject
from burnin.diagnosis.meanings import MomentFault
from burnin.record.reader import Record
from burnin.stages.movement.meanings import MovementEvent

_WEIGHTS = {
    MomentFault.OPENS_FOR_MOMENTS: 0.46, MomentFault.SEAT_OR_SLOT: 0.20, MomentFault.POWER: 0.16,
    MomentFault.RISER: 0.10, MomentFault.SOMETHING_ELSE: 0.08,
}  # fmt: skip
_MOVED_CARD = {
    MomentFault.OPENS_FOR_MOMENTS: 0.62, MomentFault.SEAT_OR_SLOT: 0.26, MomentFault.RISER: 0.06,
    MomentFault.POWER: 0.03, MomentFault.SOMETHING_ELSE: 0.03,
}  # fmt: skip
_MOVED_PLUG = {
    MomentFault.POWER: 0.70, MomentFault.OPENS_FOR_MOMENTS: 0.22, MomentFault.SEAT_OR_SLOT: 0.03,
    MomentFault.SOMETHING_ELSE: 0.05,
}  # fmt: skip
_BY_TOUCH = {
    "came_free_end_supported": _MOVED_CARD,
    "came_edge_pressed": _MOVED_CARD,
    "came_power_plug_moved": _MOVED_PLUG,
}
_AT_LINK = (
    MovementEvent.CARD_GONE, MovementEvent.LINK_DOWN, MovementEvent.LINK_NARROWER,
    MovementEvent.LINK_SLOWER, MovementEvent.LINK_ERRORS,
)  # fmt: skip
_DOWN = (KernelReason.LINK_DOWN, KernelReason.PORT_CONTAINED)


def stages_with_moments(record: Record) -> tuple[str, ...]:
    """Stages in which a link that stayed in the end was seen to go down."""
    found = [
        reading.stage
        for reading in record.readings
        if reading.verdict is Verdict.FAIL and reading.reason is not None
        if any(part.means(*_DOWN, *_AT_LINK) for part in reading.reason.parts())
    ]
    return tuple(dict.fromkeys(found))


def explain_moments(record: Record) -> tuple[tuple[Cause, float], ...]:
    """Causes of a link that goes down for moments, most probable first."""
    touched = [
        _BY_TOUCH[head]
        for reading in record.readings
        if reading.verdict is Verdict.FAIL
        if (head := reading_subject(reading.name)[0].removeprefix("first_")) in _BY_TOUCH
    ]
    weights = touched[0] if touched else _WEIGHTS
    return tuple((cause(), weight) for cause, weight in weights.items())
