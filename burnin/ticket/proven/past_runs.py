"""The runs of a ticket as their records tell them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from pathlib import Path

from burnin.core.errors import RecordError
from burnin.core.identity import Identity
from burnin.core.reading import Reading, known
from burnin.core.verdict import RunVerdict
from burnin.record.reader import read_record, read_run
from burnin.record.schema import RunFile, StageRow
from burnin.ticket.log.days_and_spans import moment_of
from burnin.ticket.log.whole_ticket import WholeTicket


@dataclass(frozen=True)
class PastRun:
    """A run: the folder of its record, and what its run.json says."""

    folder: Path
    run: RunFile

    @property
    def run_id(self) -> str:
        """Its name."""
        return self.run.run_id

    @property
    def started(self) -> datetime:
        """When it began."""
        return moment_of(self.run.started_utc)

    @property
    def verdict(self) -> RunVerdict:
        """Its verdict as recorded."""
        return self.run.verdict

    @property
    def profile_sha256(self) -> str:
        """Which profile it carried out, to the letter."""
        return self.run.profile.sha256

    @property
    def profile_name(self) -> str:
        """The profile's name."""
        return self.run.profile.name

    @property
    def simulated(self) -> bool:
        """Whether a simulated machine took the card's place."""
        return self.run.simulated

    @property
    def stages(self) -> tuple[StageRow, ...]:
        """Its stages, as far as it came."""
        return self.run.stages

    @cached_property
    def readings(self) -> tuple[Reading, ...]:
        """Its readings; raises RecordError."""
        return read_record(self.folder).readings

    def readings_of(self, stage: str) -> tuple[Reading, ...]:
        """The readings of one stage by its name."""
        return tuple(r for r in self.readings if r.stage == stage)


def past_run(folder: Path) -> PastRun:
    """A run by the folder of its record; raises RecordError."""
    return PastRun(folder, read_run(folder))


def past_runs(ticket_folder: Path) -> tuple[PastRun, ...]:
    """All readable records of a ticket, oldest first."""
    found = []
    for path in ticket_folder.glob("*/run.json"):
        try:
            found.append(past_run(path.parent))
        except RecordError:
            continue
    return tuple(sorted(found, key=lambda r: (r.started, r.run_id)))


def runs_that_count(ticket: WholeTicket) -> tuple[PastRun, ...]:
    """Runs since the last repair: what was shown before it says nothing of the card now."""
    since = moment_of(ticket.last_repair_utc)
    return tuple(run for run in past_runs(ticket.folder) if run.started >= since)


def same_card(run: PastRun, card: Identity | None) -> bool:
    """Whether a run's card may be this one (numbers, and serial where both are known)."""
    then = run.run.card
    if then is None or card is None:
        return then is None and card is None
    if _numbers(then) != _numbers(card):
        return False
    serials = known(then.serial), known(card.serial)
    return None in serials or serials[0] == serials[1]


def _numbers(card: Identity) -> tuple[int | None, ...]:
    subsystem = known(card.subsystem_vendor_id), known(card.subsystem_id)
    return (card.vendor_id, card.device_id, *subsystem)
