"""Values among passes that lie far from those of the same model: passed, and unlike the others."""

from __future__ import annotations

from collections import defaultdict
from typing import Any

import ibis
from scipy.special import stdtr

from burnin.core.reading import Verdict
from burnin.core.verdict import RunVerdict
from burnin.history.answer import Answer, Asked, Question, Rows
from burnin.history.headings import Heading
from burnin.history.meanings import HistoryNote
from burnin.history.opened import Expression, History
from burnin.history.questions.claims import notes_on_claims
from burnin.history.questions.views import numbers
from burnin.history.statistics.robust import centre_and_width
from burnin.history.statistics.several_tests import corrected, is_claim

LEAST_COUNT = 20
"""Of fewer values nobody knows what is usual."""
_FREEDOM_SHARE = 0.37
"""A robust width of n values is about as sure as a standard deviation of 0.37 n: the efficiency of
the median absolute deviation for normal values (from memory)."""
_: Any = ibis._


def rows(history: History, asked: Asked) -> Expression:
    """Numbers that passed in passes."""
    found = numbers(history, asked).filter(
        (_.run_verdict == RunVerdict.PASS.value) & (_.verdict == Verdict.PASS.value)
    )
    return found.select(_.run_id, _.run_key, _.card_key, _.model, _.stage, _.reading, _.number)


def answer(found: Rows, asked: Asked) -> Answer:  # noqa: ARG001
    """The values that no chance explains, farthest first."""
    groups: dict[tuple[str, str, str], list[dict[str, Any]]] = defaultdict(list)
    for row in found:
        groups[row["model"], row["stage"], row["reading"]].append(row)
    tried: list[tuple[dict[str, Any], float, float, float]] = []
    left_out = 0
    for mine in groups.values():
        centre, width = centre_and_width([row["number"] for row in mine])
        if len(mine) < LEAST_COUNT or width <= 0.0:
            left_out += 1
            continue
        freedom = max(1.0, _FREEDOM_SHARE * (len(mine) - 1))
        for row in mine:
            away = (row["number"] - centre) / width
            tried.append((row, away, centre, 2.0 * float(stdtr(freedom, -abs(away)))))
    q_values = corrected([p for _, _, _, p in tried])
    lines = [
        (row["run_id"], row["card_key"], row["model"], row["reading"], row["number"], centre, away,
         p, q)
        for (row, away, centre, p), q in zip(tried, q_values, strict=True)
        if is_claim(q)
    ]  # fmt: skip
    lines.sort(key=lambda line: (-abs(float(line[6])), line[0], line[3]))
    columns = (
        Heading.RUN, Heading.CARD, Heading.MODEL, Heading.READING, Heading.VALUE, Heading.MEDIAN,
        Heading.AWAY, Heading.P, Heading.Q,
    )  # fmt: skip
    told = [*q_values, *([None] * left_out)]
    notes = (HistoryNote.OUTLIERS_ARE(), *notes_on_claims(told, True, LEAST_COUNT))
    return Answer(columns, tuple(lines), notes)


QUESTION = Question("outliers", Heading.Q_OUTLIERS, rows, answer)
