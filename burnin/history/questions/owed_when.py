"""What open tickets owe by when: what their newest runs left undone, most urgent first."""

from __future__ import annotations

import json
from typing import Any

import ibis

from burnin.core.clock import iso
from burnin.core.meaning import Meaning, Owed, Reason
from burnin.history.answer import Answer, Asked, Cell, Question, Rows
from burnin.history.headings import Heading
from burnin.history.meanings import HistoryNote
from burnin.history.opened import Expression, History
from burnin.history.questions.views import days_from, real_runs, tickets

_: Any = ibis._


def rows(history: History, asked: Asked) -> Expression:
    """Open tickets, each with what its newest run owes; empty there: no run, or it owes nothing."""
    open_ = tickets(history, asked).filter(_.closed_utc.isnull() & ~_.no_fix)
    runs = real_runs(history, asked).filter(_.ticket_number != "")
    order = ibis.window(
        group_by="ticket_number", order_by=[ibis.desc(runs.started_utc), runs.run_key]
    )
    newest = runs.mutate(place=ibis.row_number().over(order)).filter(_.place == 0)
    newest = newest.select(_.run_key, _.ticket_number)
    owed = history.table("owed").join(newest, "run_key").select(
        _.ticket_number, _.row, _.what, _.what_data, _.reason, _.reason_data
    )
    found = open_.left_join(owed, open_.number == owed.ticket_number)
    late = days_from(found.promised_utc, ibis.literal(history.as_of, type="timestamp"))
    return found.select(
        _.number, _.model, _.promised_utc, _.row, _.what, _.what_data, _.reason, _.reason_data,
        late_days=late,
    )  # fmt: skip


def answer(found: Rows, asked: Asked) -> Answer:  # noqa: ARG001
    """By the promised day; tickets without one last."""
    lines: list[tuple[Cell, ...]] = []
    ordered = sorted(
        found, key=lambda r: (-(r["late_days"] or -1e9), r["number"], r["row"] or 0)
    )
    for row in ordered:
        day = iso(row["promised_utc"])[:10] if row["promised_utc"] else ""
        late = max(0, int(row["late_days"])) if row["late_days"] is not None else None
        what = _meaning(Owed, row["what"], row["what_data"])
        why = _meaning(Reason, row["reason"], row["reason_data"])
        lines.append((row["number"], row["model"], day, late, what, why))
    columns = (
        Heading.TICKET, Heading.MODEL, Heading.PROMISED, Heading.LATE, Heading.OWED, Heading.WHY,
    )  # fmt: skip
    return Answer(columns, tuple(lines), (HistoryNote.OWED_IS(),))


def _meaning(kind: type[Meaning], code: str | None, data: str | None) -> Cell:
    if not code:
        return ""
    return kind.from_plain({"code": code, **json.loads(data or "{}")})


QUESTION = Question("owed", Heading.Q_OWED, rows, answer)
