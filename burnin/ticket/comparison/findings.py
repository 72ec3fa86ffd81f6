"""What differs and matters: one finding a kind of stage, the farthest outside first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from burnin.core.reading import Verdict
from burnin.core.verdict import WHOLE_RUN, StageVerdict
from burnin.record.reader import Record
from burnin.ticket.comparison.alike import Place, places_of
from burnin.ticket.comparison.likely import Likely, likely_of
from burnin.ticket.comparison.rows import RAMP, Row

MOST = 3
_POWER = "power_w"
_TELLS_OF_THE_TEST = frozenset(
    ("cooling_sure_pct", "heat_given_j", "compute_repeats", "results_compared", "tested_gib")
)
"""Readings of how much was tested or how sure an estimate is: they say nothing of the card."""
_BAD = (Verdict.FAIL, Verdict.UNSURE, Verdict.NOT_MEASURED)
_REACHED = (StageVerdict.PASS, StageVerdict.FAIL, StageVerdict.CONDITIONAL)


@dataclass(frozen=True)
class Finding:
    """What differs in stages of one kind: the reading that tells most, and the others.

    `matters`: judged otherwise, or outside the spread of known-good records; else it differs by
    more than the uncertainty, and too few records tell whether that is unusual. `power` is the
    power at which temperatures were measured, where both records tell it.
    """

    kind: str
    matters: bool
    lead: Row
    more: tuple[Row, ...]
    power: Row | None = None
    likely: Likely | None = None


def findings_of(record: Record, rows: Sequence[Row], *, spread: bool) -> tuple[Finding, ...]:
    """All findings in their order; `spread`: whether enough records tell what is usual."""
    by_kind: dict[str, list[Row]] = {}
    for row in rows:
        if _told(row, spread=spread):
            by_kind.setdefault(row.kind, []).append(row)
    found = []
    for kind, several in by_kind.items():
        several.sort(key=_rank, reverse=True)
        of_kind = [row for row in rows if row.kind == kind]
        matters = any(row.far or row.judged_otherwise for row in several)
        power = None
        if several[0].own.unit in ("°C", "K"):
            power = next((row for row in of_kind if row.reading == _POWER), None)
        found.append(Finding(kind, matters, several[0], tuple(several[1:]), power))
    found.sort(key=lambda one: (one.kind != WHOLE_RUN, _rank(one.lead)), reverse=True)
    return tuple(_with_cause(record, one, rows) for one in found)


def not_reached(own: Record, others: Sequence[Record]) -> tuple[str, ...]:
    """Stages that most of the others carried through, and this record did not; by their names."""
    places = places_of(own.run)
    mine = {places[s.stage] for s in own.run.stages if s.verdict in _REACHED}
    counted: dict[Place, list[str]] = {}
    for one in others:
        theirs = places_of(one.run)
        for stage in one.run.stages:
            if stage.verdict in _REACHED:
                counted.setdefault(theirs[stage.stage], []).append(stage.stage)
    return tuple(
        names[0]
        for place, names in counted.items()
        if place not in mine and 2 * len(names) > len(others)
    )


def _told(row: Row, *, spread: bool) -> bool:
    if row.reading.partition(" ")[0] in _TELLS_OF_THE_TEST:
        return False
    if row.far or row.judged_otherwise:
        return True
    return not spread and row.weighed and row.difference is not None and row.differs


def _rank(row: Row) -> tuple[bool, bool, float]:
    """A failure first, then what a limit judges, then by how far outside."""
    failed = row.judged_otherwise and Verdict.FAIL in (row.own.verdict, row.other.verdict)
    if row.spreads is not None:
        outside = abs(row.spreads)
    elif row.difference is not None and row.uncertainty:
        outside = 2.0 * abs(row.difference) / row.uncertainty
    else:
        outside = 0.0
    judged = row.own.verdict is not None and row.difference is not None and row.differs
    return failed, judged, outside


def _with_cause(record: Record, found: Finding, rows: Sequence[Row]) -> Finding:
    """The finding with what it likely means, where this record is the worse one."""
    lead = found.lead
    mended = lead.judged_otherwise and lead.own.verdict not in _BAD
    if mended or not (found.matters or found.kind == RAMP):
        return found
    likely = likely_of(record, found.kind, [row for row in rows if row.kind == found.kind])
    return Finding(found.kind, found.matters, lead, found.more, found.power, likely)
