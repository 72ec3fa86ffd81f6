"""What came back within so many days, and after which repair, contact, model, bench or profile."""

from __future__ import annotations

from collections import defaultdict
from typing import Any

import ibis

from burnin.core.meaning import Note
from burnin.history.answer import Answer, Asked, Course, Drawn, Question, Rows
from burnin.history.headings import Heading
from burnin.history.meanings import HistoryNote
from burnin.history.opened import Expression, History
from burnin.history.questions.claims import notes_on_claims
from burnin.history.questions.views import deliveries, with_last_run
from burnin.history.statistics.several_tests import corrected, is_claim
from burnin.history.statistics.survival import Curve, kaplan_meier, log_rank

ALL, REPAIR, CONTACT, MODEL, BENCH, PROFILE, TECHNICIAN = (
    "all", "repair", "contact", "model", "bench", "profile", "technician",
)  # fmt: skip
LEAST_COUNT = 10
"""A smaller group is shown and compared with nothing: log-rank's p is no p there."""
LEAST_EXPECTED = 3.0
"""Nor is one of which fewer returns would be expected."""
_: Any = ibis._


def rows(history: History, asked: Asked) -> Expression:
    """Deliveries with the group of each; one that is in several groups stands in each."""
    out = deliveries(history, asked)
    keys = [out.number, out.card_key, out.at_utc, out.watched_days, out.came_back]
    if asked.by in (BENCH, PROFILE):
        name = "bench_key" if asked.by == BENCH else "profile_name"
        last = with_last_run(history, asked, out)
        return last.select(
            _.number, _.card_key, _.at_utc, _.watched_days, _.came_back, group=last[name]
        )
    if asked.by in (MODEL, TECHNICIAN):
        return out.select(*keys, group=out[asked.by])
    if asked.by in (REPAIR, CONTACT):
        done = history.table("repairs").select(_.number, _.row, _.what, _.done_utc)
        if asked.by == CONTACT:
            places = history.table("contacts").filter(_.repair_row.notnull())
            done = done.join(
                places.select(_.number, _.place, row=_.repair_row), ["number", "row"]
            ).select(_.number, _.done_utc, what=_.place)
        paired = out.join(done, [out.number == done.number, out.at_utc >= done.done_utc])
        return paired.select(
            _.number, _.card_key, _.at_utc, _.watched_days, _.came_back, group=_.what
        ).distinct()
    return out.select(*keys, group=ibis.literal(ALL))


def answer(found: Rows, asked: Asked) -> Answer:
    """Each group's share that came back, and whether it differs from the rest."""
    every = {(r["number"], r["at_utc"]): _watched(r, asked.days) for r in found}
    groups: dict[str, set[tuple[Any, Any]]] = defaultdict(set)
    for row in found:
        groups[row["group"] or ""].add((row["number"], row["at_utc"]))
    names = sorted(groups)
    curves = {name: _curve([every[key] for key in groups[name]]) for name in names}
    p_values = [_against_the_rest(groups[name], every, len(names)) for name in names]
    q_values = corrected(p_values)
    lines = []
    for name, p, q in zip(names, p_values, q_values, strict=True):
        share, back = curves[name].by(asked.days), sum(every[key][1] for key in groups[name])
        lines.append(
            (name, len(groups[name]), back, share.value, share.low, share.high, p, q, is_claim(q))
        )
    lines.sort(key=lambda line: (-float(line[3]), line[0]))
    columns = (
        Heading.GROUP, Heading.COUNT, Heading.BACK, Heading.SHARE, Heading.LOW, Heading.HIGH,
        Heading.P, Heading.Q, Heading.CLAIM,
    )  # fmt: skip
    drawn = Drawn(
        Heading.DAYS,
        Heading.SHARE,
        tuple(_drawn(str(line[0]), curves[str(line[0])], asked.days) for line in lines[:6]),
    )
    notes = tuple(_notes(found, every, groups, q_values, asked))
    return Answer(columns, tuple(lines), notes, drawn)


def _watched(row: dict[str, Any], days: float) -> tuple[float, bool]:
    """For how long it was watched, and whether it came back by then; later ones are not asked."""
    return min(row["watched_days"], days), bool(row["came_back"] and row["watched_days"] <= days)


def _curve(watched: list[tuple[float, bool]]) -> Curve:
    return kaplan_meier([days for days, _ in watched], [back for _, back in watched])


def _against_the_rest(
    group: set[tuple[Any, Any]], every: dict[tuple[Any, Any], tuple[float, bool]], names: int
) -> float | None:
    rest = len(every) - len(group)
    if names < 2 or len(group) < LEAST_COUNT or rest < LEAST_COUNT:
        return None
    keys = list(every)
    found = log_rank(
        [every[key][0] for key in keys],
        [every[key][1] for key in keys],
        [key in group for key in keys],
    )
    return found.p if min(found.expected) >= LEAST_EXPECTED else None


def _drawn(name: str, curve: Curve, days: float) -> Course:
    at = (0.0, *curve.days, days)
    shares = [curve.by(day) for day in at]
    return Course(
        name, at, tuple(s.value for s in shares), tuple(s.low for s in shares),
        tuple(s.high for s in shares),
    )  # fmt: skip


def _notes(
    found: Rows,
    every: dict[tuple[Any, Any], tuple[float, bool]],
    groups: dict[str, set[tuple[Any, Any]]],
    q_values: tuple[float | None, ...],
    asked: Asked,
) -> list[Note]:
    open_ = sum(1 for days, back in every.values() if not back and days < asked.days)
    notes: list[Note] = [
        HistoryNote.RETURN_IS(days=asked.days),
        HistoryNote.CENSORED(open_count=open_, all_count=len(every)),
    ]
    if len(found) > len(every):
        notes.append(HistoryNote.SEVERAL_GROUPS())
    elif len(groups) > 1:
        parted = [(every[key], name) for name, keys in groups.items() for key in keys]
        whole = log_rank(
            [days for (days, _), _ in parted], [back for (_, back), _ in parted],
            [name for _, name in parted],
        )  # fmt: skip
        notes.append(HistoryNote.ALL_GROUPS(p=whole.p))
    return notes + notes_on_claims(q_values, len(groups) > 1, LEAST_COUNT)


QUESTION = Question(
    "came-back", Heading.Q_BACK, rows, answer,
    (ALL, REPAIR, CONTACT, MODEL, BENCH, PROFILE, TECHNICIAN),
)  # fmt: skip
