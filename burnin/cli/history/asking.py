"""One question from the command line to its answer: on the terminal, as JSON, CSV or a drawing."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import dataclass
from pathlib import Path

import typer

from burnin.core.errors import BadInput
from burnin.history import needs
from burnin.history.meanings import HistoryReason


@dataclass(frozen=True)
class Wanted:
    """A question by its name, how it is parted, and where the answer goes besides."""

    question: str
    by: str
    days: float
    card: str
    simulated: bool
    csv: Path | None
    plot: Path | None


def ask_and_show(
    wanted: Wanted, results: Path, store: str, language: str, *, as_json: bool
) -> None:
    """Ask and show; raises BadInput."""
    needs.require()
    from burnin.cli.history.lines import cell_plain, lines_of
    from burnin.cli.history.target import opened, target_of
    from burnin.history.answer import Asked
    from burnin.history.plot import draw, drawing_ending
    from burnin.history.questions.registry import ask, question_named
    from burnin.report.languages.catalogue import catalogue
    from burnin.ticket.shop.shop_file import load_shop

    words, question = catalogue(language), question_named(wanted.question)
    if wanted.plot is not None:
        drawing_ending(wanted.plot)
    asked = Asked(wanted.days, wanted.by, wanted.card, wanted.simulated)
    with opened(target_of(store, results, load_shop())) as history:
        answer = ask(history, question, asked)
    keys = [heading.key for heading in answer.columns]
    plain = [[cell_plain(cell) for cell in row] for row in answer.rows]
    if as_json:
        content = {
            "question": question.name,
            "rows": [dict(zip(keys, row, strict=True)) for row in plain],
            "notes": [note.as_plain() for note in answer.notes],
        }
        typer.echo(json.dumps(content, ensure_ascii=False, indent=1))
    else:
        for line in lines_of(question, answer, words):
            typer.echo(line)
    if wanted.csv is not None:
        wanted.csv.write_text(_as_csv(keys, plain), encoding="utf-8")
    if wanted.plot is not None:
        if answer.drawn is None:
            raise BadInput(HistoryReason.NO_PLOT(question=question.name))
        draw(answer, question, words, wanted.plot)


def _as_csv(keys: list[str], rows: list[list[object]]) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(keys)
    for row in rows:
        cells = (json.dumps(c, ensure_ascii=False) if isinstance(c, dict) else c for c in row)
        writer.writerow(["" if cell is None else cell for cell in cells])
    return text.getvalue()
