"""Cold starts as a stage: this start's link is judged, and the next step is told.

What was seen lies where the context says (`StartsKept`), so that it outlives power-off and serves
whoever goes on.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from burnin.core.answers.form import YES_NO
from burnin.core.answers.meanings import WithoutTerm
from burnin.core.count_readings import judge_ratio
from burnin.core.exact_intervals import ratio_lower
from burnin.core.meaning import Reason, distinct
from burnin.core.reading import Limit, NotMeasured, Reading, Verdict, judge, not_measured
from burnin.stages.asking import ask_yes_no
from burnin.stages.cold_starts.meanings import (
    ColdStartNote,
    ColdStartPrompt,
    ColdStartReason,
    ColdStartSource,
)
from burnin.stages.cold_starts.settings import ColdStarts
from burnin.stages.cold_starts.start_log import StartsSoFar, begin, judged, so_far, what_next
from burnin.stages.context import StageContext
from burnin.stages.link import stage as link
from burnin.stages.link.ends_seen import Needs
from burnin.stages.link.settings import LinkCheck

IDLE_S = 1.0
_ASK_S = 60.0
_RESEATED = replace(YES_NO, silence=WithoutTerm.AS_NO(), enter=WithoutTerm.AS_NO())
_REASONS_TOLD = 3


def carry_out(context: StageContext[Needs], settings: ColdStarts) -> None:
    """Judge this start's link and what all starts together show."""
    boot, kept = context.boot, context.starts
    if isinstance(boot, NotMeasured):
        no_boot = ColdStartReason.NO_BOOT(reason=boot.reason)
        context.take(not_measured("cold_starts", "", no_boot))
        return
    begin(
        kept.log,
        boot,
        context.clock.utc(),
        off_at_least_s=settings.off_at_least_s,
        reseated=settings.reseats > 0 and _said_yes(context),
    )
    before = len(context.readings)
    # Traffic before a power-off says nothing of the link as it has trained now.
    context.soak_so_far = None
    link.carry_out(
        context,
        LinkCheck(
            stage="link",
            width_lanes=settings.width_lanes,
            generation=settings.generation,
            idle_s=IDLE_S,
            load_s=settings.load_s,
        ),
    )
    verdict, reasons = _of_start(context.readings[before:])
    judged(kept.log, boot, verdict, reasons, context.clock.utc())
    starts = so_far(kept.log, kept.since_utc)
    if starts.starts:
        for reading in (*_failures(starts), _sound_share(starts)):
            context.take(reading)
    _take_count(context, settings, starts)


def _said_yes(context: StageContext[Needs]) -> bool:
    """Whether somebody says so; where nobody does, no start counts as one after a reseat."""
    prompt = _RESEATED.on(ColdStartPrompt.RESEATED())
    return ask_yes_no(context.prompter, context.clock, prompt, _ASK_S) is True


def _of_start(readings: Sequence[Reading]) -> tuple[Verdict, tuple[Reason, ...]]:
    failed = [r for r in readings if r.verdict is Verdict.FAIL]
    if failed:
        return Verdict.FAIL, tuple(r.reason for r in failed if r.reason is not None)
    missing = [r for r in readings if r.required and r.verdict is Verdict.NOT_MEASURED]
    if missing:
        return Verdict.NOT_MEASURED, tuple(r.reason for r in missing if r.reason is not None)
    return Verdict.PASS, ()


def _failures(starts: StartsSoFar) -> Iterator[Reading]:
    """Starts at which the link failed, and starts that were never judged."""
    reasons = distinct([why for start in starts.failed[:_REASONS_TOLD] for why in start.reasons])
    yield judge(
        "failed_starts",
        float(len(starts.failed)),
        "",
        Limit(0.0, 0.0),
        source=ColdStartSource.LINK_AT_EACH(),
        why_fail=ColdStartReason.FAILED(
            failed_count=len(starts.failed), starts_count=len(starts.starts), reasons=reasons
        ),
    )
    yield judge(
        "hung_starts",
        float(len(starts.hung)),
        "",
        Limit(0.0, 0.0),
        source=ColdStartSource.NEVER_JUDGED(),
        why_fail=ColdStartReason.HUNG(
            hung_count=len(starts.hung), starts_count=len(starts.starts)
        ),
    )


def _sound_share(starts: StartsSoFar) -> Reading:
    """Share of starts that were sound, with its exact bounds: three of three prove little."""
    tries = len(starts.starts)
    bad = len({start.began_utc for start in (*starts.failed, *starts.hung)})
    return judge_ratio(
        "sound_starts_share",
        tries - bad,
        tries,
        None,
        source=ColdStartSource.SHARE_OF(
            starts_count=tries, lower=ratio_lower(tries - bad, tries)
        ),
        required=False,
    )


def _take_count(
    context: StageContext[Needs], settings: ColdStarts, starts: StartsSoFar
) -> None:
    """How many cold starts were seen, or what is still to do."""
    next_step = what_next(
        starts,
        settings.starts,
        settings.reseats,
        settings.off_at_least_s,
        context.starts.command,
    )
    # A start that began before the card was last worked on says nothing of the card as it is now.
    newest = starts.starts[-1].why_not if starts.starts else ColdStartReason.WORKED_ON_SINCE()
    if newest is not None:
        context.note(ColdStartNote.NOT_COUNTED(reason=newest))
    counted, limit = len(starts.counted), Limit(lower=float(settings.starts))
    if next_step is None:
        source = ColdStartSource.BOOT_ID()
        context.take(judge("cold_starts", float(counted), "", limit, source=source))
        return
    more = ColdStartReason.MORE_WANTED(
        seen_count=counted, wanted_count=settings.starts, next=next_step
    )
    context.take(not_measured("cold_starts", "", more, limit=limit))
    context.note(ColdStartNote.NEXT_STEP(next=next_step))
