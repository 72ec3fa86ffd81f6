"""Telemetry read back: sample by sample as guards saw it, and column by column for plots."""

from __future__ import annotations

import math
import sys
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from burnin.core.meaning import Reason
from burnin.core.reading import NotMeasured
from burnin.core.sample import TELEMETRY_NAMES, Sample, SampleFlaw, Slowdown, Telemetry
from burnin.record.meaning_cells import meaning_of
from burnin.record.reasons import RecordReason
from burnin.record.schema.tables import NotReadRow, SampleRow

SLOWDOWNS = "throttle_reasons"
SERIES_NAMES = (
    "load_share",
    "load_w",
    *(name for name in TELEMETRY_NAMES if name != SLOWDOWNS),
)
_BLANK = RecordReason.CELL_BLANK()


@dataclass(frozen=True)
class Series:
    """samples.csv by column; all tuples have the same length, None where nothing was read."""

    elapsed_s: tuple[float, ...]
    stages: tuple[str, ...]
    columns: Mapping[str, tuple[float | None, ...]]


@dataclass(frozen=True)
class NotReadFrom:
    """From `elapsed_s` on a column could not be read, and why; `reason` None: it can again."""

    elapsed_s: float
    column: str
    reason: Reason | None


def not_read_of(row: NotReadRow) -> NotReadFrom:
    """A line of not_read.csv; raises ValueError where its reason is none."""
    return NotReadFrom(row.elapsed_s, row.column, meaning_of(Reason, row.reason, row.reason_data))


def samples_of(rows: Iterable[SampleRow], changes: Iterable[NotReadFrom]) -> Iterator[Sample]:
    """Samples in their order; a blank cell has the reason that was told last for its column."""
    reasons: dict[str, Reason | None] = {}
    ahead = iter(sorted(changes, key=lambda change: change.elapsed_s))
    change = next(ahead, None)
    for row in rows:
        while change is not None and change.elapsed_s <= row.elapsed_s:
            reasons[change.column] = change.reason
            change = next(ahead, None)
        yield _sample(row, reasons)


def _sample(row: SampleRow, reasons: Mapping[str, Reason | None]) -> Sample:
    values: dict[str, float | tuple[Slowdown, ...] | NotMeasured] = {}
    for name in TELEMETRY_NAMES:
        value, reason = getattr(row, name), reasons.get(name)
        if name == SLOWDOWNS:
            told = tuple(Slowdown(part) for part in value.split("; ") if part)
            values[name] = NotMeasured(reason) if reason and not told else told
        else:
            values[name] = NotMeasured(reason or _BLANK) if value is None else value
    return Sample(
        row.elapsed_s,
        row.time_utc,
        row.stage,
        Telemetry(**values),  # type: ignore[arg-type]
        row.load_share,
        row.load_w,
        row.read_s,
        row.present,
        row.period_s,
        row.late_s,
        tuple(SampleFlaw(part) for part in row.flaws.split("; ") if part),
    )


def series_of(rows: Iterable[SampleRow]) -> Series:
    """All samples column by column."""
    moments: list[float] = []
    stages: list[str] = []
    columns: dict[str, list[float | None]] = {name: [] for name in SERIES_NAMES}
    for row in rows:  # of eight hours at 20 Hz; their rows are never in memory together
        moments.append(row.elapsed_s)
        stages.append(sys.intern(row.stage))
        for name, column in columns.items():
            column.append(_finite(getattr(row, name)))
    return Series(
        elapsed_s=tuple(moments),
        stages=tuple(stages),
        columns={name: tuple(column) for name, column in columns.items()},
    )


def _finite(value: float | None) -> float | None:
    return value if value is not None and math.isfinite(value) else None
