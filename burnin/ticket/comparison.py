"""Before and after: a record beside another, or beside all passes of the same profile.

The spread of a group is 1.4826 times the median of the distances from its median, which is the
standard deviation where values are normally distributed and stays put where a few are far off
(Rousseeuw and Croux 1993, section 1).
"""

from __future__ import annotations

import statistics
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from burnin.core.errors import BadInput
from burnin.record.rows import read_facts
from burnin.ticket.passed_runs import numbers_of, numbers_of_all
from burnin.ticket.proof import PastRun

ROBUST = 1.4826
FAR = 3.0
"""Spreads from the median at which a value is worth a sentence; common practice, no source."""
_FEWEST = 3


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
    """A record beside `beside` (in words); `plot` is where both are drawn, None for a group."""

    record: Path
    beside: str
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
    facts = read_facts(record)
    own = numbers_of(record)
    if not own:
        raise BadInput(f"{record}: holds no measured number to compare")
    if other is not None:
        return _beside_one(record, own, other)
    run = PastRun(record, facts)
    passes = passes_like(run, results)
    if len(passes) < _FEWEST:
        raise BadInput(
            f"{len(passes)} other passes of profile {run.profile_name} in {results}; a spread needs"
            f" at least {_FEWEST}. Name a second record to compare two"
        )
    group = numbers_of_all(passes)
    rows = []
    for (stage, reading), (value, unit) in own.items():
        values = group.get((stage, reading), [])
        if len(values) < _FEWEST:
            continue
        middle, spread = robust_spread(values)
        far = (value - middle) / spread if spread > 0.0 else None
        rows.append(Row(stage, reading, unit, value, middle, spread, far, len(values)))
    beside = f"{len(passes)} other passes of profile {run.profile_name}"
    return Comparison(record, beside, tuple(rows))


def passes_like(run: PastRun, results: Path) -> list[Path]:
    """Records of other runs that passed the same profile to the letter.

    Simulated ones count beside simulated ones only.
    """
    found = []
    for path in sorted(results.glob("*/*/run.json")):
        if path.parent.resolve() == run.folder.resolve():
            continue
        try:
            there = PastRun(path.parent, read_facts(path.parent))
        except BadInput:
            continue
        same = there.profile_sha256 == run.profile_sha256 and there.simulated == run.simulated
        if same and there.verdict == "pass":
            found.append(path.parent)
    return found


def _beside_one(
    record: Path, own: dict[tuple[str, str], tuple[float, str]], other: Path
) -> Comparison:
    from burnin.report.plots.pair import draw_pair

    read_facts(other)
    theirs = numbers_of(other)
    rows = tuple(
        Row(stage, reading, unit, value, theirs[stage, reading][0], None, None, 1)
        for (stage, reading), (value, unit) in own.items()
        if (stage, reading) in theirs
    )
    if not rows:
        raise BadInput(f"{record} and {other} measured nothing in common")
    return Comparison(record, str(other), rows, draw_pair(record, other))


def table_lines(found: Comparison) -> Iterator[str]:
    """The comparison in columns, and a sentence for each value that lies far off."""
    from burnin.report.titles import title_of

    group = any(row.spread is not None for row in found.rows)
    yield f"{found.record} beside {found.beside}"
    for row in found.rows:
        line = (
            f"  {row.stage:<16} {title_of(row.reading)[:40]:<40} {row.value:>12.5g}"
            f" {row.other:>12.5g} {row.unit:<5}"
        )
        if group:
            line += f" ± {row.spread:<9.3g}" if row.spread is not None else " " * 12
            line += f" {row.spreads:+.1f}" if row.spreads is not None else ""
        elif row.value != row.other:
            line += f" {row.value - row.other:+.4g}"
        yield line.rstrip()
    for row in found.rows:
        if row.spreads is not None and abs(row.spreads) >= FAR:
            side = "above" if row.spreads > 0 else "below"
            yield (
                f"{title_of(row.reading)} ({row.stage}) is {abs(row.spreads):.1f} spreads {side}"
                f" the other {row.count} passes"
            )
