"""The record of a run that found no card, so that `explain` can speak of reset, clock and power."""

from __future__ import annotations

from pathlib import Path

from burnin.core.clock import WallClock, iso
from burnin.core.events import OwedWork, RunFinished, RunStarted
from burnin.profile.loader import LoadedProfile
from burnin.profile.model import stage_name
from burnin.record.checksums import write_checksums
from burnin.record.ticket_header import Ticket
from burnin.record.writer import RecordWriter, plain
from burnin.run.bench import Options, run_folder, standing_facts

NOTHING_ENUMERATED = "no graphics card enumerated on this bench"


def record_absence(
    results: Path, ticket: Ticket, loaded: LoadedProfile, options: Options
) -> Path:
    """Write a record with no card and nothing measured; its folder."""
    clock = WallClock()
    run_id, folder = run_folder(results, ticket, clock.utc())
    names = tuple(stage_name(n, s) for n, s in enumerate(loaded.profile.stages, start=1))
    simulated = f"SIMULATED: scenario {options.simulated}, seed {options.seed}"
    facts = standing_facts(loaded, options, simulated if options.simulated else "") | {
        "run_id": run_id,
        "started_utc": iso(clock.utc()),
        "card": None,
        "card_absent": True,
        "card_text": NOTHING_ENUMERATED,
        "bench": {},
        "engine": {
            "name": "none",
            "adapter": "",
            "driver": "",
            "why": NOTHING_ENUMERATED,
            "works_card": False,
        },
        "ticket": plain(ticket),
        "folder": str(folder),
        "reason": NOTHING_ENUMERATED,
    }
    writer = RecordWriter(folder, clock, clock.monotonic_s())
    writer(RunStarted(run_id, iso(clock.utc()), facts, names))
    owed = (OwedWork("", "the whole run", NOTHING_ENUMERATED),)
    writer(RunFinished(iso(clock.utc()), "incomplete", NOTHING_ENUMERATED, "failed", owed))
    writer.close()
    write_checksums(folder)
    return folder
