"""Exit codes by which the worker process tells why it ended itself."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from burnin.core.meaning import Reason
from burnin.engine.meanings import EngineReason
from burnin.engine.process.dead_man_switch import END_AFTER_S, STILL_AFTER_S, STUCK_AFTER_S
from burnin.engine.process.meanings import WorkerReason

NOBODY_READS = 3
NO_HEARTBEAT = 4
SLICE_STUCK = 5
WORK_STUCK = 6

REASONS: Mapping[int, Reason] = MappingProxyType({
    NO_HEARTBEAT: EngineReason.NO_HEARTBEAT(seconds=END_AFTER_S),
    SLICE_STUCK: EngineReason.SLICE_DID_NOT_END(seconds=STUCK_AFTER_S),
    WORK_STUCK: EngineReason.WORK_STOOD_STILL(seconds=STILL_AFTER_S),
})


def why_ended(exit_code: int) -> Reason:
    """The reason behind an exit code that is not a signal's."""
    return REASONS.get(exit_code) or WorkerReason.BY_EXIT_CODE(exit_code=exit_code)
