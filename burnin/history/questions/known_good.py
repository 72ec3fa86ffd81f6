"""How far known-good cards of a model lie apart, reading by reading, and of how many that is known.

A card is known to be good here where it passed and has not come back.
"""

from __future__ import annotations

from collections import defaultdict
from typing import Any

import ibis
import numpy as np

from burnin.core.reading import Verdict
from burnin.core.verdict import RunVerdict
from burnin.history.answer import Answer, Asked, Question, Rows
from burnin.history.headings import Heading
from burnin.history.meanings import HistoryNote
from burnin.history.opened import Expression, History
from burnin.history.questions.views import deliveries, numbers
from burnin.history.statistics.robust import centre_and_width

_: Any = ibis._


def rows(history: History, asked: Asked) -> Expression:
    """Numbers of passes whose card did not come back, one a card and reading."""
    found = numbers(history, asked).filter(_.run_verdict == RunVerdict.PASS.value)
    found = found.filter(_.verdict.isnull() | (_.verdict == Verdict.PASS.value))
    returned = deliveries(history, asked).filter(_.came_back).select(_.card_key).distinct()
    good = found.anti_join(returned, "card_key")
    order = ibis.window(
        group_by=["card_key", "stage", "reading"],
        order_by=[ibis.desc(good.started_utc), good.run_key],
    )
    last = good.mutate(place=ibis.row_number().over(order)).filter(_.place == 0)
    return last.select(_.model, _.stage, _.reading, _.unit, _.number, _.card_key)


def answer(found: Rows, asked: Asked) -> Answer:  # noqa: ARG001
    """Median, robust standard deviation and range, by model and reading."""
    groups: dict[tuple[str, str, str], list[float]] = defaultdict(list)
    for row in found:
        groups[row["model"], row["reading"], row["unit"] or ""].append(row["number"])
    lines = []
    for (model, reading, unit), values in sorted(groups.items()):
        centre, width = centre_and_width(values)
        low, high = (float(np.quantile(values, share)) for share in (0.025, 0.975))
        lines.append((model, reading, unit, len(values), centre, width, low, high))
    columns = (
        Heading.MODEL, Heading.READING, Heading.UNIT, Heading.COUNT, Heading.MEDIAN,
        Heading.WIDTH, Heading.LOW, Heading.HIGH,
    )  # fmt: skip
    return Answer(columns, tuple(lines), (HistoryNote.KNOWN_GOOD_ARE(),))


QUESTION = Question("good", Heading.Q_GOOD, rows, answer)
