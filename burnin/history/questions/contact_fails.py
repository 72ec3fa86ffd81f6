"""Which contacts fail with which damage: of tickets with it, how many failed the first run."""

from __future__ import annotations

from collections import defaultdict
from typing import Any

import ibis

from burnin.core.verdict import RunVerdict
from burnin.history.answer import Answer, Asked, Drawn, Question, Rows
from burnin.history.headings import Heading
from burnin.history.meanings import HistoryNote
from burnin.history.opened import Expression, History
from burnin.history.questions import first_yield
from burnin.history.questions.claims import notes_on_claims
from burnin.history.questions.shares import LEAST_COUNT, Counted, against_the_rest
from burnin.history.statistics.several_tests import is_claim

FAILED = (RunVerdict.FAIL.value, RunVerdict.ABORTED.value)
_: Any = ibis._


def rows(history: History, asked: Asked) -> Expression:
    """Each damage that was seen on a ticket, with the verdict of the first run after work."""
    seen = history.table("contacts").filter(_.damage != "").select(_.number, _.place, _.damage)
    first = first_yield.rows(history, Asked(by=first_yield.ALL, simulated=asked.simulated))
    return seen.distinct().join(first, "number").select(
        _.number, _.place, _.damage, _.first_verdict
    )


def answer(found: Rows, asked: Asked) -> Answer:  # noqa: ARG001
    """By contact and damage, against the same kind of damage elsewhere and all other damage."""
    groups: dict[tuple[str, str], list[str]] = defaultdict(list)
    for row in found:
        groups[row["place"], row["damage"]].append(row["first_verdict"])
    names = sorted(groups)
    counted = [Counted(sum(v in FAILED for v in groups[n]), len(groups[n])) for n in names]
    p_values, q_values = against_the_rest(counted)
    lines = [
        (*name, c.count, c.hits, c.share.value, c.share.low, c.share.high, p, q, is_claim(q))
        for name, c, p, q in zip(names, counted, p_values, q_values, strict=True)
    ]
    lines.sort(key=lambda line: (-float(line[4]), -int(line[2]), line[0], line[1]))
    columns = (
        Heading.CONTACT, Heading.DAMAGE, Heading.COUNT, Heading.FAILED, Heading.SHARE,
        Heading.LOW, Heading.HIGH, Heading.P, Heading.Q, Heading.CLAIM,
    )  # fmt: skip
    drawn = Drawn(
        Heading.SHARE, Heading.CONTACT, names=tuple(f"{x[0]} {x[1]}" for x in lines[:30]),
        values=tuple((x[4], x[5], x[6]) for x in lines[:30]),
    )  # fmt: skip
    notes = (
        HistoryNote.CONTACTS_ARE(),
        *notes_on_claims(q_values, len(names) > 1, LEAST_COUNT),
    )
    return Answer(columns, tuple(lines), notes, drawn)


QUESTION = Question("contacts", Heading.Q_CONTACTS, rows, answer)
