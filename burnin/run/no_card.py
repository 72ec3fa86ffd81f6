"""The record of a run that found no card, so that `explain` can speak of reset, clock and power."""

from __future__ import annotations

from pathlib import Path

from burnin.core.clock import WallClock, iso
from burnin.core.events import RunFinished, RunStarted
from burnin.core.opening import EngineDescription, Opening
from burnin.core.ticket_header import Ticket
from burnin.core.verdict import Ended, OwedWhat, OwedWork, RunVerdict
from burnin.profile.loader import LoadedProfile
from burnin.profile.model import stage_name
from burnin.record.sums import write_checksums
from burnin.record.writer import RecordWriter
from burnin.run.begin import options_of, profile_opened, run_folder, tool_versions
from burnin.run.bench import Options
from burnin.run.reasons import RunReason


def record_absence(
    results: Path, ticket: Ticket, loaded: LoadedProfile, options: Options
) -> Path:
    """Write a record with no card and nothing measured; its folder."""
    clock = WallClock()
    run_id, folder = run_folder(results, ticket, clock.utc())
    names = tuple(stage_name(n, s) for n, s in enumerate(loaded.profile.stages, start=1))
    reason = RunReason.NOTHING_ENUMERATED()
    opening = Opening(
        run_id=run_id,
        started_utc=iso(clock.utc()),
        folder=str(folder),
        tool=tool_versions(),
        options=options_of(options),
        profile=profile_opened(loaded),
        guards=loaded.profile.guards.model_dump(),
        ticket=ticket,
        engine=EngineDescription("none", "", "", reason, works_card=False),
        card=None,
        card_absent=reason,
        simulated_scenario=options.simulated,
        simulated_seed=options.seed if options.simulated else 0,
    )
    writer = RecordWriter(folder, clock, clock.monotonic_s())
    writer(RunStarted(run_id, iso(clock.utc()), opening, names))
    owed = (OwedWork("", OwedWhat.WHOLE_RUN(), reason),)
    writer(RunFinished(iso(clock.utc()), RunVerdict.INCOMPLETE, reason, Ended.FAILED, owed))
    writer.close()
    write_checksums(folder)
    return folder
