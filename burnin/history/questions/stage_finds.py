"""What each stage finds in a thousand runs, and in an hour of its work."""

from __future__ import annotations

from collections import defaultdict
from typing import Any

import ibis

from burnin.core.verdict import WHOLE_RUN, StageVerdict
from burnin.history.answer import Answer, Asked, Drawn, Question, Rows
from burnin.history.headings import Heading
from burnin.history.meanings import HistoryNote
from burnin.history.opened import Expression, History
from burnin.history.questions.shares import Counted
from burnin.history.questions.views import real_runs

FOUND = (StageVerdict.FAIL.value, StageVerdict.ABORTED.value)
"""A stage found something where a reading of it failed, or a guard had to end it."""
NOT_CARRIED_OUT = (StageVerdict.NOT_MEASURED.value, StageVerdict.INCOMPLETE.value)
_THOUSAND, _HOUR = 1000.0, 60.0
_: Any = ibis._


def rows(history: History, asked: Asked) -> Expression:
    """Each stage that was carried out in a run, with its verdict and how long it took."""
    runs = real_runs(history, asked).select(_.run_key)
    stages = history.table("stages").filter(
        ~_.taken_over & ~_.verdict.isin(NOT_CARRIED_OUT) & (_.kind != WHOLE_RUN)
    )
    return stages.join(runs, "run_key").select(
        _.run_key, _.kind, _.verdict, minutes=(_.ended_s - _.started_s) / _HOUR
    )


def answer(found: Rows, asked: Asked) -> Answer:  # noqa: ARG001
    """By kind of stage; a run in which a kind is carried out twice counts twice."""
    kinds: dict[str, list[dict[str, Any]]] = defaultdict(list)
    for row in found:
        kinds[row["kind"]].append(row)
    lines = []
    for kind in sorted(kinds):
        mine = kinds[kind]
        seen = Counted(sum(row["verdict"] in FOUND for row in mine), len(mine))
        minutes = sum(max(0.0, row["minutes"] or 0.0) for row in mine)
        share = seen.share
        lines.append(
            (
                kind, seen.count, seen.hits, _THOUSAND * share.value, _THOUSAND * share.low,
                _THOUSAND * share.high, minutes, minutes / seen.count,
                _HOUR * seen.hits / minutes if minutes else None,
            )
        )  # fmt: skip
    lines.sort(key=lambda line: (-float(line[3]), line[0]))
    columns = (
        Heading.STAGE, Heading.COUNT, Heading.FOUND, Heading.PER_THOUSAND, Heading.LOW,
        Heading.HIGH, Heading.MINUTES, Heading.MINUTES_EACH, Heading.PER_HOUR,
    )  # fmt: skip
    drawn = Drawn(
        Heading.PER_THOUSAND, Heading.STAGE, names=tuple(str(line[0]) for line in lines),
        values=tuple((line[3], line[4], line[5]) for line in lines),
    )  # fmt: skip
    return Answer(columns, tuple(lines), (HistoryNote.FINDS_ARE(),), drawn)


QUESTION = Question("stages", Heading.Q_STAGES, rows, answer)
