"""What our own words are worth: of runs that passed with a doubt, how many cards came back."""

from __future__ import annotations

from typing import Any

import ibis

from burnin.core.reading import Verdict
from burnin.core.verdict import RunVerdict
from burnin.history.answer import Answer, Asked, Question, Rows
from burnin.history.headings import Heading
from burnin.history.meanings import HistoryNote
from burnin.history.opened import Expression, History
from burnin.history.questions import came_back
from burnin.history.questions.views import deliveries, with_last_run

PLAIN, WARNED, LOW_MARGIN, CONDITIONAL, OTHER = (
    "plain_pass", "pass_with_warning", "pass_with_low_margin", "conditional", "other",
)  # fmt: skip
LOW_MARGIN_SHARE = 0.05
"""Of a limit; a value that passed nearer to it than this had a low margin."""
_WARNING = "WarningGiven"
_: Any = ibis._


def rows(history: History, asked: Asked) -> Expression:
    """Deliveries by what the last run before each said."""
    last = with_last_run(history, asked, deliveries(history, asked))
    warned = history.table("events").filter(_.event == _WARNING).select(_.run_key).distinct()
    warned = warned.mutate(warned=ibis.literal(True))
    near = _near_a_limit(history).mutate(near=ibis.literal(True))
    told = last.left_join(warned, "run_key").drop("run_key_right")
    told = told.left_join(near, "run_key").drop("run_key_right")
    group = ibis.cases(
        (_.verdict == RunVerdict.CONDITIONAL.value, CONDITIONAL),
        (_.verdict != RunVerdict.PASS.value, OTHER),
        (_.warned.fill_null(False), WARNED),
        (_.near.fill_null(False), LOW_MARGIN),
        else_=PLAIN,
    )
    told = told.filter(_.verdict.notnull())
    return told.select(
        _.number, _.card_key, _.at_utc, _.watched_days, _.came_back, group=group
    )


def _near_a_limit(history: History) -> Expression:
    """Runs with a number that passed within the share of its limit."""
    found = history.table("readings").filter(
        (_.value_kind == "number") & (_.verdict == Verdict.PASS.value) & _.required
    )
    found = found.mutate(number=_.value_number)
    # A limit that stands on both sides at one value, or is 0, leaves no margin to be low.
    one = _.lower_limit.notnull() & _.upper_limit.notnull() & (_.lower_limit == _.upper_limit)
    found = found.filter(~one.fill_null(False))
    upper = (_.upper_limit.abs() > 0.0) & (
        (_.upper_limit - _.number) < LOW_MARGIN_SHARE * _.upper_limit.abs()
    )
    lower = (_.lower_limit.abs() > 0.0) & (
        (_.number - _.lower_limit) < LOW_MARGIN_SHARE * _.lower_limit.abs()
    )
    counts = _.unit.isin(("", "lanes", "GT/s", "bytes"))
    near = found.filter(~counts & (upper.fill_null(False) | lower.fill_null(False)))
    return near.select(_.run_key).distinct()


def answer(found: Rows, asked: Asked) -> Answer:
    """As what came back, by what the run had said."""
    made = came_back.answer(found, asked)
    note = HistoryNote.DOUBT_IS(margin_pct=100.0 * LOW_MARGIN_SHARE)
    return Answer(made.columns, made.rows, (note, *made.notes), made.drawn)


QUESTION = Question("doubts", Heading.Q_DOUBTS, rows, answer)
