"""Readings read back from their lines."""

from __future__ import annotations

from collections.abc import Sequence

from burnin.core.meaning import Reason, Source, Term
from burnin.core.reading import Limit, Reading, Verdict
from burnin.record.meaning_cells import meaning_of
from burnin.record.schema.tables import ReadingRow, ValueKind

THE_STAGE = "stage"
"""Name of the reading that says why a whole stage was not carried out."""


def reading_of(row: ReadingRow) -> Reading:
    """A line of readings.csv as a reading; raises ValueError where it is none."""
    limit = None
    if row.lower_limit is not None or row.upper_limit is not None:
        limit = Limit(row.lower_limit, row.upper_limit)
    if bool(row.value) != (row.value_kind is not None):
        raise ValueError("a value has a kind, and only a value")
    return Reading(
        name=row.reading,
        value=_value(row),
        unit=row.unit,
        uncertainty=row.uncertainty,
        limit=limit,
        allowed=tuple(word for word in row.allowed.split(" | ") if word),
        verdict=row.verdict,
        reason=meaning_of(Reason, row.reason, row.reason_data),
        source=meaning_of(Source, row.source, row.source_data),
        required=row.required,
        stage=row.stage,
        rule=meaning_of(Term, row.rule, row.rule_data),
    )


def _value(row: ReadingRow) -> float | str | None:
    if row.value_kind is ValueKind.NUMBER:
        return float(row.value)
    return row.value or None


def latest(found: Sequence[Reading]) -> tuple[Reading, ...]:
    """The last row of each reading: a stage that was repeated after a resume judges anew.

    A row that failed stays, whatever came after it: a sheet hides no failure. A row that speaks of
    a whole stage (it was not reached) is out of date once the stage has rows of its own.
    """
    last = {(row.stage, row.name): place for place, row in enumerate(found)}
    last_of_stage = {row.stage: place for place, row in enumerate(found)}
    return tuple(
        row
        for place, row in enumerate(found)
        if (last[row.stage, row.name] == place or row.verdict is Verdict.FAIL)
        and not (row.name == THE_STAGE and last_of_stage[row.stage] > place)
    )
