"""The runs of a ticket as their records tell them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from pathlib import Path

from burnin.core.errors import RecordError
from burnin.core.reading import Reading
from burnin.core.verdict import RunVerdict
from burnin.record.reader import read_record, read_run
from burnin.record.reasons import RecordReason
from burnin.record.schema.run import RunFile, StageRow
from burnin.record.sums import data_sha256
from burnin.replay.verdicts import JudgedAnew, judge_anew
from burnin.run.reasons import RunReason
from burnin.ticket.log.days_and_spans import moment_of
from burnin.ticket.log.whole_ticket import WholeTicket


@dataclass(frozen=True)
class PastRun:
    """A run: the folder of its record, and what its run.json says.

    `vouched`: a ticket's log says that the record is as it was at its end. `may_be_older`: it may
    be of a version whose rows carry no chain.
    """

    folder: Path
    run: RunFile
    vouched: bool = False
    may_be_older: bool = False

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
        return self.run.is_simulated

    @property
    def of_software(self) -> bool:
        """Whether software worked the bench's processor in a card's place."""
        absent = self.run.card_absent
        return absent is not None and absent.means(RunReason.SOFTWARE_WORKS_PROCESSOR)

    def is_of(self, ticket: WholeTicket) -> bool:
        """Whether it was made for this ticket, and lies where it was made.

        Tickets that an older version opened list no runs; there, the number on the record decides.
        """
        mine = self.run.ticket.number == ticket.number
        listed = self.run_id in ticket.runs and self.folder.name == self.run_id
        return mine and (listed or not ticket.runs_listed)

    @property
    def stages(self) -> tuple[StageRow, ...]:
        """Its stages, as far as it came."""
        return self.run.stages

    def vouched_by(self, ticket: WholeTicket) -> bool:
        """Whether the ticket's log tells what the record was at its end, and it is that still."""
        listed = ticket.runs.get(self.run_id)
        return (
            listed is not None
            and listed.ended
            and bool(listed.data_sha256)
            and listed.data_sha256 == self.data_sha256
        )

    def changed_since_end(self, ticket: WholeTicket) -> bool:
        """Whether the ticket's log tells of another record than lies here now."""
        listed = ticket.runs.get(self.run_id)
        told = listed is not None and listed.ended and bool(listed.data_sha256)
        return told and not self.vouched_by(ticket)

    @cached_property
    def data_sha256(self) -> str:
        """One SHA-256 over all measured files of the record."""
        return data_sha256(self.folder)

    @cached_property
    def judged(self) -> JudgedAnew:
        """Its values judged anew; raises RecordError."""
        return judge_anew(read_record(self.folder))

    def stands(self, stage: str, *, older: bool) -> bool:
        """Whether what the record says of a stage follows from data that nobody touched.

        `older`: it may be of a version whose rows carry no chain.
        """
        try:
            why = self.judged.why_not_taken_over(stage)
            only_no_chain = all(r.means(RecordReason.NO_CHAIN) for r in self.judged.unsound)
        except RecordError:
            return False
        if why is None:
            return True
        told = (r for r in self.judged.disagreements if dict(r.data).get("stage") == stage)
        return older and only_no_chain and not any(told)

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
