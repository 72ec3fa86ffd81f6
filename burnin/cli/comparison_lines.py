"""A comparison of records on the terminal, and for a machine to read."""

from __future__ import annotations

from collections.abc import Iterator

from burnin.cli.ticket_terms import ComparisonLine
from burnin.core.meaning import Term
from burnin.report.languages.catalogue import Catalogue
from burnin.ticket.comparison.comparison import FAR, Comparison, Row


def table_lines(found: Comparison, words: Catalogue) -> Iterator[str]:
    """The comparison in columns, and a sentence for each value that lies far off."""
    group = any(row.spread is not None for row in found.rows)
    yield words.say(_heading(found))
    for row in found.rows:
        yield _line(row, words, group=group)
    for row in found.rows:
        if row.spreads is not None and abs(row.spreads) >= FAR:
            code = ComparisonLine.FAR_ABOVE if row.spreads > 0 else ComparisonLine.FAR_BELOW
            far = code(
                reading=row.reading,
                stage=row.stage,
                spreads=abs(row.spreads),
                passes_count=row.count,
            )
            yield words.say(far)
    if found.plot is not None:
        yield words.say(ComparisonLine.PLOT(path=str(found.plot)))


def as_json(found: Comparison) -> dict[str, object]:
    """The comparison's rows, and what the record was laid beside."""
    return {
        "beside": str(found.other) if found.other else "",
        "passes": found.passes,
        "profile": found.profile,
        "rows": [vars(row) for row in found.rows],
    }


def _heading(found: Comparison) -> Term:
    record = str(found.record)
    if found.other is not None:
        return ComparisonLine.BESIDE_RECORD(record=record, other=str(found.other))
    return ComparisonLine.BESIDE_PASSES(
        record=record, passes_count=found.passes, profile=found.profile
    )


def _line(row: Row, words: Catalogue, *, group: bool) -> str:
    line = (
        f"  {row.stage:<16} {words.reading(row.reading)[:40]:<40} {row.value:>12.5g}"
        f" {row.other:>12.5g} {row.unit:<5}"
    )
    if group:
        line += f" ± {row.spread:<9.3g}" if row.spread is not None else " " * 12
        line += f" {row.spreads:+.1f}" if row.spreads is not None else ""
    elif row.value != row.other:
        line += f" {row.value - row.other:+.4g}"
    return line.rstrip()
