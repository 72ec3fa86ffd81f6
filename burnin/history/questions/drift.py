"""Readings that drift on one bench: its values against those of the same models on all benches."""

from __future__ import annotations

from collections import defaultdict
from typing import Any

import ibis

from burnin.core.clock import iso
from burnin.core.reading import Verdict
from burnin.history.answer import Answer, Asked, Course, Drawn, Question, Rows
from burnin.history.headings import Heading
from burnin.history.meanings import HistoryNote
from burnin.history.opened import Expression, History
from burnin.history.questions.claims import notes_on_claims
from burnin.history.questions.views import numbers
from burnin.history.statistics.control_chart import (
    LIMIT,
    REFERENCE,
    RUN_LENGTH,
    SHIFT_SD,
    average_run_length,
    chance_of_reaching,
    course,
)
from burnin.history.statistics.robust import centre_and_width, normal_scores, without_season
from burnin.history.statistics.several_tests import corrected, is_claim

LEAST_OF_MODEL, LEAST_OF_BENCH = 8, 12
"""A model with fewer values has no centre that holds; a bench with fewer has no course."""
_YEAR_S = 365.25 * 86400.0
_Z95 = 1.959963984540054
_: Any = ibis._


def rows(history: History, asked: Asked) -> Expression:
    """Numbers that did not fail, with bench, model and moment."""
    found = numbers(history, asked).filter(_.bench_key != "")
    found = found.filter(_.verdict.isnull() | (_.verdict != Verdict.FAIL.value))
    return found.select(
        _.bench_key, _.model, _.stage, _.reading, _.number, _.started_utc, _.run_key
    )


def answer(found: Rows, asked: Asked) -> Answer:  # noqa: ARG001
    """One chart a bench and reading; the peak of each, and how likely chance reaches it."""
    readings: dict[str, list[dict[str, Any]]] = defaultdict(list)
    for row in found:
        readings[row["reading"]].append(row)
    charts, left_out = [], 0
    for reading in sorted(readings):
        series = _series(readings[reading])
        for bench in sorted(series):
            if len(series[bench]) < LEAST_OF_BENCH:
                left_out += 1
                continue
            charts.append((reading, bench, series[bench], course([z for _, z in series[bench]])))
    p_values = [chance_of_reaching(c.peak, len(values)) for _, _, values, c in charts]
    q_values = corrected(p_values)
    lines = []
    for (reading, bench, values, chart), p, q in zip(charts, p_values, q_values, strict=True):
        since = values[chart.since : chart.at + 1]
        shift = sum(z for _, z in since) / len(since) if since else 0.0
        half = _Z95 / len(since) ** 0.5 if since else 0.0
        when = iso(since[0][0].replace(tzinfo=None)) if since and is_claim(q) else ""
        lines.append(
            (bench, reading, len(values), shift, shift - half, shift + half, when, chart.peak, p, q,
             is_claim(q))
        )  # fmt: skip
    order = sorted(range(len(lines)), key=lambda n: (float(p_values[n]), lines[n][:2]))
    drawn = Drawn(
        Heading.VALUES, Heading.PEAK, tuple(_drawn(charts[n]) for n in order[:6]), limit=LIMIT
    )
    columns = (
        Heading.BENCH, Heading.READING, Heading.COUNT, Heading.SHIFT, Heading.LOW, Heading.HIGH,
        Heading.SINCE, Heading.PEAK, Heading.P, Heading.Q, Heading.CLAIM,
    )  # fmt: skip
    chart_note = HistoryNote.CHART(
        shift_sd=SHIFT_SD, limit=LIMIT, run_length=RUN_LENGTH,
        half_run_length=average_run_length(REFERENCE, LIMIT, SHIFT_SD),
    )  # fmt: skip
    told = [*q_values, *([None] * left_out)]
    notes = (chart_note, *notes_on_claims(told, True, LEAST_OF_BENCH))
    return Answer(columns, tuple(lines[n] for n in order), notes, drawn)


def _series(rows: list[dict[str, Any]]) -> dict[str, list[tuple[Any, float]]]:
    """By bench the values of one reading as normal deviates, in order of time.

    Each first less its model's median and over its model's width, so that models do not count,
    and less the course of the year that all benches share.
    """
    models: dict[tuple[str, str], list[dict[str, Any]]] = defaultdict(list)
    for row in rows:
        models[row["model"], row["stage"]].append(row)
    kept: list[tuple[dict[str, Any], float]] = []
    for mine in models.values():
        if len(mine) < LEAST_OF_MODEL:
            continue
        centre, width = centre_and_width([row["number"] for row in mine])
        if width > 0.0:
            kept += [(row, (row["number"] - centre) / width) for row in mine]
    series: dict[str, list[tuple[Any, float]]] = defaultdict(list)
    if kept:
        scores = without_season(
            normal_scores([value for _, value in kept]),
            [row["started_utc"].timestamp() / _YEAR_S for row, _ in kept],
        )
        placed = sorted(
            zip(kept, scores.tolist(), strict=True),
            key=lambda one: (one[0][0]["started_utc"], one[0][0]["run_key"]),
        )
        for (row, _), score in placed:
            series[row["bench_key"]].append((row["started_utc"], score))
    return series


def _drawn(chart: tuple[str, str, list[tuple[Any, float]], Any]) -> Course:
    reading, bench, values, found = chart
    return Course(f"{bench} {reading}", tuple(float(n) for n in range(len(values))), found.sums)


QUESTION = Question("drift", Heading.Q_DRIFT, rows, answer)
