"""Before and after: a record beside another, or beside all passes of the same profile.

The spread of a group is 1.4826 times the median of the distances from its median, which is the
standard deviation where values are normally distributed and stays put where a few are far off
(Rousseeuw and Croux 1993, section 1).
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from burnin.core.errors import BadInput, RecordError
from burnin.core.reading import Reading
from burnin.core.verdict import RunVerdict
from burnin.record.reader import read_record, read_run
from burnin.record.schema.run import RunFile

ROBUST = 1.4826
FAR = 3.0
"""Spreads from the median at which a value is worth a sentence; common practice, no source."""
_FEWEST = 3

Key = tuple[str, str]
"""Stage (such as ``4-memory``) and name of a reading."""


@dataclass(frozen=True)
class Row:
    """One reading. `other`: the other record's value, or the group's median.

    `spread` is the group's robust spread, `spreads` how many of them the value lies above (below:
    negative); None where there is no group, or its spread is nought.
    """

    stage: str
    reading: str
    unit: str
    value: float
    other: float
    spread: float | None
    spreads: float | None
    count: int


@dataclass(frozen=True)
class Comparison:
    """A record beside `other`, or (None) beside `passes` other passes of `profile`.

    `plot` is where two records are drawn, None for a group.
    """

    record: Path
    other: Path | None
    passes: int
    profile: str
    rows: tuple[Row, ...]
    plot: Path | None = None


def robust_spread(values: Sequence[float]) -> tuple[float, float]:
    """Median and robust spread; raises ValueError for no values."""
    if not values:
        raise ValueError("no values")
    middle = statistics.median(values)
    return middle, ROBUST * statistics.median(abs(v - middle) for v in values)


def compare_records(record: Path, other: Path | None, results: Path) -> Comparison:
    """Compare a record; raises RecordError or BadInput where there is nothing to compare with."""
    run = read_run(record)
    own = numbers_of(record)
    if not own:
        raise BadInput(f"{record}: holds no measured number to compare")
    if other is not None:
        return _beside_one(record, run, own, other)
    passes = passes_like(record, run, results)
    if len(passes) < _FEWEST:
        raise BadInput(
            f"{len(passes)} other passes of profile {run.profile.name} in {results}; a spread needs"
            f" at least {_FEWEST}. Name a second record to compare two"
        )
    rows = _beside_group(own, [numbers_of(folder) for folder in passes])
    return Comparison(record, None, len(passes), run.profile.name, rows)


def numbers_of(folder: Path) -> dict[Key, Reading]:
    """The last measured number of each reading of one record; raises RecordError."""
    return {
        (reading.stage, reading.name): reading
        for reading in read_record(folder).readings
        if isinstance(reading.value, float) and math.isfinite(reading.value)
    }


def passes_like(record: Path, run: RunFile, results: Path) -> list[Path]:
    """Records of other runs that passed the same profile to the letter.

    Simulated ones count beside simulated ones only.
    """
    found = []
    for path in sorted(results.glob("*/*/run.json")):
        if path.parent.resolve() == record.resolve():
            continue
        try:
            there = read_run(path.parent)
        except RecordError:
            continue
        same = there.profile.sha256 == run.profile.sha256 and there.simulated == run.simulated
        if same and there.verdict is RunVerdict.PASS:
            found.append(path.parent)
    return found


def _beside_group(
    own: dict[Key, Reading], group: Sequence[dict[Key, Reading]]
) -> tuple[Row, ...]:
    rows = []
    for key, reading in own.items():
        values = [_number(one[key]) for one in group if key in one]
        if len(values) < _FEWEST:
            continue
        value = _number(reading)
        middle, spread = robust_spread(values)
        far = (value - middle) / spread if spread > 0.0 else None
        rows.append(Row(*key, reading.unit, value, middle, spread, far, len(values)))
    return tuple(rows)


def _beside_one(
    record: Path, run: RunFile, own: dict[Key, Reading], other: Path
) -> Comparison:
    from burnin.report.plots.two_records import draw_two

    theirs = numbers_of(other)
    rows = tuple(
        Row(*key, reading.unit, _number(reading), _number(theirs[key]), None, None, 1)
        for key, reading in own.items()
        if key in theirs
    )
    if not rows:
        raise BadInput(f"{record} and {other} measured nothing in common")
    return Comparison(record, other, 0, run.profile.name, rows, draw_two(record, other))


def _number(reading: Reading) -> float:
    """The value of a reading that `numbers_of` found."""
    assert isinstance(reading.value, float)
    return reading.value
