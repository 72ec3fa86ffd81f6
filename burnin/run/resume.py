"""An interrupted record read back: what is proven, what is to do, and how the run goes on."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from burnin.core.errors import BadInput, RecordError
from burnin.core.identity import Identity
from burnin.core.plain import plain
from burnin.core.reading import Reading, Verdict, known
from burnin.core.verdict import Ended, StageOutcome, StageVerdict
from burnin.profile.loader import LoadedProfile, parse_profile
from burnin.record.reader import Record, read_record
from burnin.record.schema import FORMAT, StageRow
from burnin.run.begin import opening_of, options_from
from burnin.run.bench import card_text, open_bench_for
from burnin.run.plan import Earlier, RunPlan
from burnin.stages.registry import stage_kind

_PROVEN = (StageVerdict.PASS, StageVerdict.FAIL, StageVerdict.CONDITIONAL)
"""A stage with one of these came to its end; anything else was in flight, or never began."""


def plan_again(folder: Path) -> RunPlan:
    """Go on with an interrupted record: its own profile, its own options, its own card.

    Raises RecordError where nothing can be gone on with, BadInput for another card, NoCard.
    """
    record = read_record(folder)
    earlier = read_earlier(record)
    run = record.run
    loaded = profile_of(record)
    options = options_from(run.options)
    opened = open_bench_for(options)
    if opened.identity is not None and run.card is not None:
        _same_card(folder, opened.identity, run.card)
    clock = opened.clock
    # A simulated clock may have run ahead of the wall: elapsed_s must go on rising.
    passed_s = max(seconds_since(run.started_utc, clock.utc()), record.last_elapsed_s + 1.0)
    again = opening_of(opened, loaded, run.ticket, run.run_id, folder, options)
    opening = replace(again, started_utc=run.started_utc, resumed=run.resumed + 1)
    start_s = clock.monotonic_s() - passed_s
    return RunPlan(opening, loaded.profile, opened, folder, start_s, earlier=earlier)


def read_earlier(record: Record) -> Earlier:
    """Finished stages of a record; raises RecordError where nothing can be gone on with."""
    folder, run = record.folder, record.run
    if record.format_read != FORMAT:
        raise RecordError(
            f"{folder} was written by an older version of this tool (format {record.format_read});"
            " it can be read and judged, a run does not go on in it: begin anew"
        )
    if record.condition.edited:
        changed = ", ".join(str(flaw["file"]) for flaw in record.condition.edited)
        raise RecordError(
            f"{folder}: {changed} changed since its checksums were written; "
            "a run does not go on from data that nobody vouches for"
        )
    if run.ended is Ended.DONE and not any(_is_open(stage) for stage in run.stages):
        raise RecordError(f"{folder}: this run came to its end ({run.verdict}); nothing to resume")
    outcomes: dict[str, StageOutcome] = {}
    readings: dict[str, tuple[Reading, ...]] = {}
    failed: dict[str, tuple[Reading, ...]] = {}
    for stage in run.stages:
        its_own = tuple(r for r in record.all_readings if r.stage == stage.stage)
        if stage.verdict not in _PROVEN or _is_open(stage):
            failed[stage.stage] = tuple(r for r in its_own if r.verdict is Verdict.FAIL)
            continue
        outcomes[stage.stage] = stage.outcome()
        readings[stage.stage] = tuple({r.name: r for r in its_own}.values())
    soaks = {name: sums for name, sums in record.traffic.items() if name not in outcomes}
    return Earlier(outcomes, readings, failed, soaks)


def profile_of(record: Record) -> LoadedProfile:
    """The profile that a record's run was carried out under; raises ProfileError."""
    kept = record.run.profile
    return parse_profile(kept.name, kept.file, kept.text, tomllib.loads(kept.text))


def _is_open(stage: StageRow) -> bool:
    """Some stages come to their end only after several boots of the bench."""
    return stage_kind(stage.kind).goes_on_after_end and stage.verdict is not StageVerdict.PASS


def _same_card(folder: Path, now: Identity, then: Identity) -> None:
    """Raise BadInput where another card than the record's is on this bench."""
    if (now.vendor_id, now.device_id) != (then.vendor_id, then.device_id):
        raise BadInput(
            f"{folder} was begun on {card_text(then)}; another card is on this bench now"
        )
    serial = known(then.serial)
    if serial is not None and plain(now.serial) != serial:
        raise BadInput(f"{folder} was begun on the card with serial {serial}")


def seconds_since(started_utc: str, now: datetime) -> float:
    """Wall time since the run began, so that elapsed_s goes on rising after a power cut."""
    began = datetime.fromisoformat(started_utc.replace("Z", "+00:00"))
    return max(0.0, (now - began).total_seconds())
