"""Cold starts as a stage: this start's link is judged, and the next step is told.

State lies beside the run's record, or at the ticket where there is one, so that it outlives
power-off and serves whoever goes on.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from burnin.core.reading import Limit, NotMeasured, Reading, Verdict, judge, not_measured
from burnin.profile.before_power import ColdStarts
from burnin.profile.model import LinkCheck
from burnin.stages.cold_starts.start_log import (
    FILE,
    Boot,
    StartsSoFar,
    begin,
    judged,
    so_far,
    what_next,
)
from burnin.stages.context import StageContext
from burnin.stages.link import stage as link
from burnin.ticket.store import ticket_at

_ASK_RESEAT = "Was the card taken out and seated again before this start? (yes / no)"
_ASK_S = 60.0


def state_file(record_folder: Path) -> Path:
    """Where the starts are kept: at the ticket, else in the record."""
    ticket = record_folder.parent / "ticket"
    return (ticket if ticket.is_dir() else record_folder) / FILE


def carry_out(context: StageContext, settings: ColdStarts, boot: Boot | NotMeasured) -> None:
    """Judge this start's link and what all starts together show."""
    if isinstance(boot, NotMeasured):
        context.take(not_measured("cold_starts", "", f"no start can be proven: {boot.reason}"))
        return
    path = state_file(context.record_folder)
    reseated = settings.reseats > 0 and _said_yes(context)
    begin(
        path,
        boot,
        context.clock.utc(),
        off_at_least_s=settings.off_at_least_s,
        reseated=reseated,
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
            idle_s=1.0,
            load_s=settings.load_s,
        ),
    )
    verdict, reason = _of_start(context.readings[before:])
    judged(path, boot, verdict, reason, context.clock.utc())
    starts = so_far(path, _since(context.record_folder))
    _take_all(context, settings, starts)


def _since(record_folder: Path) -> str:
    """Starts before the card was last worked on say nothing of it now."""
    ticket = ticket_at(record_folder.parent)
    return ticket.last_repair_utc if ticket else ""


def _command(record_folder: Path) -> str:
    """How the run goes on after the next start."""
    ticket = ticket_at(record_folder.parent)
    if ticket is not None:
        return f"burnin run --ticket {ticket.number}"
    return f"burnin run --resume {record_folder}"


def _said_yes(context: StageContext) -> bool:
    answer = context.prompter.ask(_ASK_RESEAT, _ASK_S)
    return not isinstance(answer, NotMeasured) and answer.strip().lower() in ("y", "yes")


def _of_start(readings: Sequence[Reading]) -> tuple[str, str]:
    failed = [r for r in readings if r.verdict is Verdict.FAIL]
    if failed:
        return "fail", "; ".join(r.reason for r in failed)
    missing = [r for r in readings if r.required and r.verdict is Verdict.NOT_MEASURED]
    if missing:
        return "not measured", "; ".join(r.reason for r in missing)
    return "pass", ""


def _take_all(context: StageContext, settings: ColdStarts, starts: StartsSoFar) -> None:
    counted = float(len(starts.counted))
    context.take(
        judge(
            "failed_starts",
            float(len(starts.failed)),
            "",
            Limit(0.0, 0.0),
            source="link judged at each start",
            why_fail=f"the link failed at {len(starts.failed)} of {len(starts.starts)} starts: "
            + "; ".join(s.reason for s in starts.failed[:3]),
        )
    )
    context.take(
        judge(
            "hung_starts",
            float(len(starts.hung)),
            "",
            Limit(0.0, 0.0),
            source="starts that were begun and never judged",
            why_fail=f"{len(starts.hung)} of {len(starts.starts)} starts ended in a crash or hang",
        )
    )
    next_step = what_next(
        starts,
        settings.starts,
        settings.reseats,
        settings.off_at_least_s,
        _command(context.record_folder),
    )
    newest = starts.starts[-1]
    if not newest.cold:
        context.note(f"this start does not count: {newest.why_not}")
    limit = Limit(lower=float(settings.starts))
    if next_step:
        told = f"{counted:g} of {settings.starts} seen; next: {next_step}"
        context.take(not_measured("cold_starts", "", told, limit=limit))
        context.note(next_step)
        return
    context.take(judge("cold_starts", counted, "", limit, source="boot id and uptime"))
