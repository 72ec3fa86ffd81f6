"""The record of a run that found no card, so that `explain` can speak of reset, clock and power."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from burnin.core.blame import blame
from burnin.core.clock import WallClock, iso
from burnin.core.events import Event, Noted, Publish, RunFinished, RunStarted
from burnin.core.meaning import Note, Reason
from burnin.core.opening import EngineDescription, Opening
from burnin.core.reading import Reading, Verdict
from burnin.core.sights import NEVER_SHOWED
from burnin.core.ticket_header import Ticket
from burnin.core.verdict import Ended, OwedWhat, OwedWork, RunVerdict
from burnin.profile.loader import LoadedProfile
from burnin.profile.model import stage_name
from burnin.record.sums import write_checksums
from burnin.record.writer import RecordWriter
from burnin.run.begin import options_of, profile_opened, run_folder, tool_versions
from burnin.run.bench import Options
from burnin.run.reasons import RunReason
from burnin.stages.whole_run.observed import Observed


@dataclass(frozen=True)
class Absence:
    """The record of it, and who may be at fault with the step that decides."""

    folder: Path
    to_decide: Reason


def record_absence(
    results: Path,
    ticket: Ticket,
    loaded: LoadedProfile,
    options: Options,
    notes: Sequence[Note] = (),
    told: Publish | None = None,
) -> Absence:
    """Write a record with no card and nothing measured.

    `notes` are those of the ticket: what the meter said of repaired contacts bears on who is at
    fault. What the bench has proven does not: in which slot a card that never showed sits, nothing
    tells. `told` hears the same events as the record.
    """
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
    observed = Observed()
    for note in notes:
        observed.note(note)
    never = Reading(NEVER_SHOWED, None, "", verdict=Verdict.FAIL)
    to_decide = blame(never, observed.seen(None)).to_decide()
    owed = tuple(OwedWork("", OwedWhat.WHOLE_RUN(), why) for why in (reason, to_decide))
    events: tuple[Event, ...] = (
        RunStarted(run_id, iso(clock.utc()), opening, names),
        *(Noted("", note) for note in notes),
        RunFinished(iso(clock.utc()), RunVerdict.INCOMPLETE, reason, Ended.FAILED, owed),
    )
    writer = RecordWriter(folder, clock, clock.monotonic_s())
    for event in events:
        writer(event)
        if told is not None:
            told(event)
    writer.close()
    write_checksums(folder)
    return Absence(folder, to_decide)
