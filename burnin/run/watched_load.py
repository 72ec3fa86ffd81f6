"""Nothing loads a card that no guard can watch: asked before each stage that works it."""

from __future__ import annotations

from typing import Any

from burnin.core.meaning import Reason
from burnin.run.reasons import RunReason
from burnin.stages.context import StageContext

_WITHIN_S = 1.0
"""A sensor that is silent may come back within so long: one wrong value puts no load off."""


def why_unwatched(context: StageContext[Any]) -> Reason | None:
    """Why nothing may load the card: no guard has a temperature, not even a second later."""
    end_s = context.clock.monotonic_s() + _WITHIN_S
    while (why := context.watch.why_unwatched()) is not None:
        if context.clock.monotonic_s() >= end_s:
            return RunReason.NO_SENSOR_FOR_LOAD(reason=why.reason)
        context.watch.look(context.stage)
        context.watch.pause()
    return None
