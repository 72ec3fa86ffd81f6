"""Wait before a stage until the card is as cool as the profile wants it."""

from __future__ import annotations

from typing import Any

from burnin.core.meaning import Reason
from burnin.core.reading import known
from burnin.profile.stage_settings import StageSettings
from burnin.run.reasons import RunNote, RunReason
from burnin.stages.context import StageContext

_LOOK_EVERY_S = 1.0


def cool_first(context: StageContext[Any], stage: StageSettings) -> Reason | None:
    """Wait until the GPU is cool enough for the stage; why it cannot begin, or nothing."""
    below_c = stage.cool_below_c
    if below_c is None:
        return None
    begin_s = context.clock.monotonic_s()
    while True:
        temp_c = known(context.watch.look(context.stage).telemetry.gpu_temp_c)
        if temp_c is None:
            return RunReason.TEMPERATURE_UNREADABLE()
        if temp_c < below_c:
            return None
        waited_s = context.clock.monotonic_s() - begin_s
        if waited_s > stage.cool_wait_s:
            return RunReason.STILL_WARM(waited_s=waited_s, gpu_temp_c=temp_c, below_c=below_c)
        note = RunNote.COOLING_FIRST(gpu_temp_c=temp_c, below_c=below_c)
        context.progress(min(waited_s, stage.cool_wait_s), stage.cool_wait_s, "s", note)
        context.clock.sleep_s(_LOOK_EVERY_S)
