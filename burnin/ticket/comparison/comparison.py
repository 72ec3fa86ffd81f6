"""A record beside others, or beside all passes of its profile: what differs, and what matters."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from burnin.core.errors import BadInput
from burnin.core.meaning import Note
from burnin.core.reading import Verdict
from burnin.record.reader import Record, read_record
from burnin.ticket.comparison.alike import alike, are_one_card, known_good_of
from burnin.ticket.comparison.findings import Finding, findings_of, not_reached
from burnin.ticket.comparison.meanings import Basis, ComparedNote
from burnin.ticket.comparison.rows import Row, cells_of, rows_beside
from burnin.ticket.comparison.spread import CHANCE, FEWEST
from burnin.ticket.refusals import TicketRefusal


@dataclass(frozen=True)
class Comparison:
    """A record beside `others`; none named: beside all `known_good` ones of its profile and model.

    `stages_not_reached` are stages that the others carried through. `basis` says what the judgement
    rests on, `notes` what kept values from being weighed.
    """

    record: Record
    others: tuple[Record, ...]
    known_good: tuple[Record, ...]
    findings: tuple[Finding, ...]
    stages_not_reached: tuple[str, ...]
    rows: tuple[Row, ...]
    basis: tuple[Note, ...]
    notes: tuple[Note, ...]

    @property
    def beside(self) -> tuple[Record, ...]:
        """The records that values were laid beside."""
        return self.others or self.known_good


def compare_records(record: Path, others: Sequence[Path], results: Path) -> Comparison:
    """Compare a record; raises RecordError or BadInput where there is nothing to compare with."""
    own = read_record(record)
    cells = cells_of(own)
    if not any(reading.verdict is not Verdict.NOT_MEASURED for reading in cells.values()):
        raise BadInput(TicketRefusal.NOTHING_MEASURED(record=str(record)))
    named = tuple(read_record(folder) for folder in others)
    if any(folder.resolve() == record.resolve() for folder in others):
        raise BadInput(TicketRefusal.NAMED_TWICE(record=str(record)))
    known_good = tuple(known_good_of(own.run, results, record))
    beside = named or known_good
    if not beside:
        raise BadInput(
            TicketRefusal.NO_OTHER_PASS(profile=own.run.profile.name, results=str(results))
        )
    how = alike(own, beside)
    good_cells = [cells_of(one) for one in known_good]
    other_cells = [cells_of(one) for one in named] or good_cells
    rows = rows_beside(cells, other_cells, good_cells, how)
    if not rows:
        raise BadInput(
            TicketRefusal.NOTHING_IN_COMMON(
                record=str(record), other=str(others[0] if others else results)
            )
        )
    spread = len(known_good) >= FEWEST
    lacking = not_reached(own, beside)
    notes = how.notes
    if lacking:
        notes = (*notes, ComparedNote.NOT_REACHED(stages=lacking))
    basis = _basis(known_good, rows, spread=spread)
    findings = findings_of(own, rows, spread=spread)
    return Comparison(own, named, known_good, findings, lacking, rows, basis, notes)


def _basis(
    known_good: Sequence[Record], rows: Sequence[Row], *, spread: bool
) -> tuple[Note, ...]:
    """Whether enough records tell what is usual; how many readings were compared, and chance."""
    if not spread:
        count = len(known_good)
        few = Basis.TOO_FEW(records_count=count, fewest_count=FEWEST)
        return few, Basis.COUNTED(readings_count=len(rows))
    with_spread = sum(row.spread is not None for row in rows)
    chance = Basis.CHANCE(
        readings_count=len(rows),
        spread_count=with_spread,
        chance_count=CHANCE * with_spread,
    )
    rests_on: tuple[Note, ...] = (Basis.WITH_SPREAD(records_count=len(known_good)),)
    if are_one_card(known_good):
        rests_on = (*rests_on, Basis.ONE_CARD())
    return (*rests_on, chance)
