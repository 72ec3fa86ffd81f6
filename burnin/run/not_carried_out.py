"""What is put on record of a stage that is not carried out, or not as a whole."""

from __future__ import annotations

from typing import Any

from burnin.core.meaning import Reason
from burnin.core.reading import not_measured
from burnin.core.verdict import StageVerdict, stage_verdict
from burnin.profile.model import Stage
from burnin.stages.context import StageContext
from burnin.stages.registry import stage_kind

Judged = tuple[StageVerdict, tuple[Reason, ...]]


def without(context: StageContext[Any], reason: Reason) -> Judged:
    """The stage as a whole is not measured; what has failed by then stays failed."""
    context.take(not_measured("stage", "", reason))
    verdict, reasons = stage_verdict(context.readings)
    if verdict is StageVerdict.FAIL:
        return verdict, reasons
    return StageVerdict.NOT_MEASURED, (reason,)


def unloaded(context: StageContext[Any], stage: Stage, reason: Reason) -> Judged:
    """What a stage that works the card can tell where nothing may load it; the rest is owed."""
    tell = stage_kind(stage.stage).without_load
    if tell is None:
        return without(context, reason)
    tell(context, stage, reason)
    return stage_verdict(context.readings)
