"""How many cards pass at the first run after work, and after which repair the others do."""

from __future__ import annotations

from collections import defaultdict
from typing import Any

import ibis

from burnin.core.verdict import RunVerdict
from burnin.history.answer import Answer, Asked, Drawn, Question, Rows
from burnin.history.headings import Heading
from burnin.history.meanings import HistoryNote
from burnin.history.opened import Expression, History
from burnin.history.questions.claims import notes_on_claims
from burnin.history.questions.shares import LEAST_COUNT, Counted, against_the_rest
from burnin.history.questions.views import real_runs, tickets
from burnin.history.statistics.several_tests import is_claim

ALL, MODEL, BENCH, PROFILE, TECHNICIAN = "all", "model", "bench", "profile", "technician"
_NAMES = {BENCH: "bench_key", PROFILE: "profile_name", MODEL: "model", TECHNICIAN: "technician"}
_: Any = ibis._


def rows(history: History, asked: Asked) -> Expression:
    """Each ticket with its first run after its first repair, and repairs before its first pass."""
    runs = real_runs(history, asked).select(
        _.run_key, _.ticket_number, _.bench_key, _.profile_name, _.started_utc, _.verdict
    )
    mine = tickets(history, asked).select(_.number, _.model, _.technician)
    mine = mine.semi_join(_all_runs_counted(history), "number")
    repairs = history.table("repairs").select(_.number, _.done_utc)
    first = repairs.group_by("number").agg(repaired_utc=_.done_utc.min())
    told = mine.left_join(first, "number").select(_.number, _.model, _.technician, _.repaired_utc)
    paired = told.join(runs, told.number == runs.ticket_number)
    paired = paired.filter(_.repaired_utc.isnull() | (_.started_utc >= _.repaired_utc))
    order = ibis.window(group_by=paired.number, order_by=[paired.started_utc, paired.run_key])
    placed = paired.mutate(place=ibis.row_number().over(order))
    passed = placed.group_by("number").agg(
        passed_utc=_.started_utc.min(where=_.verdict == RunVerdict.PASS.value)
    )
    done = passed.left_join(
        repairs, [passed.number == repairs.number, passed.passed_utc >= repairs.done_utc]
    )
    counted = done.group_by("number").agg(
        repairs_before=_.done_utc.count(), passed_utc=_.passed_utc.max()
    )
    start = placed.filter(_.place == 0).select(
        "number", "model", "technician", "bench_key", "profile_name", first_verdict=_.verdict
    )
    group = ibis.literal(ALL) if asked.by == ALL else start[_NAMES[asked.by]]
    return start.mutate(group=group).join(counted, "number").select(
        _.number, _.group, _.first_verdict, _.repairs_before, ever_passed=_.passed_utc.notnull()
    )


def _all_runs_counted(history: History) -> Expression:
    """Tickets with no run that is kept apart: of the others nobody knows which was the first."""
    apart = history.table("sources").filter((_.kind == "record") & (_.state == "apart"))
    apart = apart.select(folder=_.place.split("/")[0]).distinct()
    told = history.table("tickets").select(_.number, folder=_.file.split("/")[0])
    return told.anti_join(apart, "folder").select(_.number).distinct()


def answer(found: Rows, asked: Asked) -> Answer:  # noqa: ARG001
    """By group: passed at the first run, and after how many repairs the pass came."""
    groups: dict[str, list[dict[str, Any]]] = defaultdict(list)
    for row in found:
        groups[row["group"] or ""].append(row)
    names = sorted(groups)
    counted = [
        Counted(sum(r["first_verdict"] == RunVerdict.PASS for r in groups[n]), len(groups[n]))
        for n in names
    ]
    p_values, q_values = against_the_rest(counted)
    lines = []
    for name, first, p, q in zip(names, counted, p_values, q_values, strict=True):
        after = [r["repairs_before"] for r in groups[name] if r["ever_passed"]]
        spread = (*(sum(n == k for n in after) for k in (0, 1, 2)), sum(n > 2 for n in after))
        share = first.share
        lines.append(
            (name, first.count, first.hits, share.value, share.low, share.high, *spread,
             first.count - len(after), p, q, is_claim(q))
        )  # fmt: skip
    lines.sort(key=lambda line: (float(line[3]), line[0]))
    columns = (
        Heading.GROUP, Heading.COUNT, Heading.PASSED, Heading.SHARE, Heading.LOW, Heading.HIGH,
        Heading.AFTER_NONE, Heading.AFTER_ONE, Heading.AFTER_TWO, Heading.AFTER_MORE,
        Heading.NEVER, Heading.P, Heading.Q, Heading.CLAIM,
    )  # fmt: skip
    drawn = Drawn(
        Heading.SHARE, Heading.GROUP, names=tuple(str(line[0]) for line in lines),
        values=tuple((line[3], line[4], line[5]) for line in lines),
    )  # fmt: skip
    notes = (
        HistoryNote.FIRST_YIELD_IS(),
        *notes_on_claims(q_values, len(names) > 1, LEAST_COUNT),
    )
    return Answer(columns, tuple(lines), notes, drawn)


QUESTION = Question(
    "yield", Heading.Q_YIELD, rows, answer, (ALL, MODEL, BENCH, PROFILE, TECHNICIAN)
)
