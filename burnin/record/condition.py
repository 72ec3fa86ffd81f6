"""In what condition a record's files are: missing, torn, damaged, edited or foreign."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from burnin.core.meaning import Reason
from burnin.record.table_file import Flaws


@dataclass(frozen=True)
class Condition:
    """Typed flaws of a record (`RecordReason`), by what they mean for who reads it.

    `missing`: a file is not there. `torn`: a power cut took the end of a line; at most the last
    line of a file is lost, and as many further up as the run was resumed. `damaged`: a hole, or a
    line that no cut explains. `edited`: a file is not as its checksum or its chain says.
    `disagrees`: run.json does not say what the journal tells. `foreign`: a file is of another run,
    or not of this table. `cut_short`: what came last is unknown. `vouched`: checksums lie beside
    the data. `chained`: the rows carry a chain, so that edits are seen without checksums too; a
    record of an older version has none.
    """

    missing: tuple[Reason, ...] = ()
    torn: tuple[Reason, ...] = ()
    damaged: tuple[Reason, ...] = ()
    edited: tuple[Reason, ...] = ()
    disagrees: tuple[Reason, ...] = ()
    foreign: tuple[Reason, ...] = ()
    cut_short: bool = False
    vouched: bool = False
    chained: bool = False

    @property
    def flaws(self) -> tuple[Reason, ...]:
        """All of them, what is worst last."""
        return (
            *self.missing,
            *self.torn,
            *self.damaged,
            *self.edited,
            *self.disagrees,
            *self.foreign,
        )

    @property
    def made_up(self) -> tuple[Reason, ...]:
        """Flaws that no power cut leaves: damaged, edited, contradicting itself, or foreign."""
        return (*self.damaged, *self.edited, *self.disagrees, *self.foreign)

    @property
    def whole(self) -> bool:
        """Whether nothing is wrong."""
        return not self.flaws


def condition_of(
    tables: Iterable[Flaws],
    edited: tuple[Reason, ...],
    foreign: tuple[Reason, ...],
    disagrees: tuple[Reason, ...] = (),
    *,
    vouched: bool,
    chained: bool = False,
) -> Condition:
    """The condition of a record, from that of its parts."""
    parts = tuple(tables)
    return Condition(
        missing=tuple(flaw for part in parts for flaw in part.missing),
        torn=tuple(flaw for part in parts for flaw in part.torn),
        damaged=tuple(flaw for part in parts for flaw in part.damaged),
        edited=edited,
        disagrees=disagrees,
        foreign=(*(flaw for part in parts for flaw in part.foreign), *foreign),
        cut_short=any(part.cut_short for part in parts),
        vouched=vouched,
        chained=chained,
    )
