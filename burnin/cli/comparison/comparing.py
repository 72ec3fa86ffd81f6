"""`burnin compare`: compared, drawn, and told as lines or as JSON."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from pathlib import Path

from burnin.cli.comparison.as_json import comparison_json
from burnin.cli.comparison.lines import comparison_lines
from burnin.cli.ticket_terms import ComparisonLine
from burnin.core.errors import RecordError
from burnin.record.schema.folders import RUN_FILE
from burnin.report.languages.catalogue import catalogue
from burnin.report.plots.beside_records import usual_place, write_beside
from burnin.ticket.comparison.comparison import compare_records
from burnin.ticket.log.store import read_ticket
from burnin.ticket.log.ticket_from_log import LOG


def compare_and_tell(
    record: Path,
    others: Sequence[Path],
    results: Path,
    plot: Path | None,
    language: str,
    *,
    all_rows: bool,
    as_json: bool,
    width: int,
) -> Iterator[str]:
    """Lines to print; a drawing that was asked for by name must be written, else it may fail."""
    words = catalogue(language)
    found = compare_records(newest_of(record, results), others, results)
    in_ticket = (found.record.folder.absolute().parent / LOG).exists()
    to = plot or usual_place(found.record, found.others, in_ticket=in_ticket)
    drawn = ComparisonLine.PLOT(path=str(to))
    try:
        write_beside(found.record, found.others, found.known_good, words, to)
    except RecordError as error:
        if plot is not None:
            raise
        drawn = ComparisonLine.NO_PLOT(fault=error.told)
    if as_json:
        path = str(to) if drawn.means(ComparisonLine.PLOT) else ""
        yield json.dumps(comparison_json(found, path), indent=1, ensure_ascii=False)
        return
    yield from comparison_lines(found, words, width=width, all_rows=all_rows)
    yield words.say(drawn)


def newest_of(asked: Path, results: Path) -> Path:
    """The newest run of a ticket, where the number of one is named in place of a folder."""
    named = str(asked)
    if len(asked.parts) != 1 or named.startswith(".") or not (results / named / LOG).exists():
        return asked
    ticket = read_ticket(results, named)
    runs = (ticket.folder / run for run in sorted(ticket.runs, reverse=True))
    return next((run for run in runs if (run / RUN_FILE).exists()), asked)
