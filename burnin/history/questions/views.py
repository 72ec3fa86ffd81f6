"""Expressions that several questions share: runs that count, cards that went out and came back."""

from __future__ import annotations

from typing import Any

import ibis

from burnin.core.verdict import RunVerdict
from burnin.history.answer import Asked
from burnin.history.opened import Expression, History

GIVEN_BACK = (RunVerdict.PASS.value, RunVerdict.CONDITIONAL.value)
"""Verdicts of a sheet with which a repaired card goes back; others are no repair."""
NUMBER = "number"
_: Any = ibis._


def real_runs(history: History, asked: Asked) -> Expression:
    """Runs of real cards, or of the simulated machine alone."""
    return history.table("runs").filter(_.of_real_card != ibis.literal(asked.simulated))


def tickets(history: History, asked: Asked) -> Expression:
    """Tickets of real cards, or of the simulated machine, each with its card's model."""
    runs = real_runs(history, asked)
    told = runs.filter(_.card_name.notnull()).group_by("ticket_number").agg(
        told_model=_.card_name.argmax(_.started_utc)
    )
    mine = history.table("tickets").filter(_.simulated == ibis.literal(asked.simulated))
    joined = mine.left_join(told, mine.number == told.ticket_number)
    return joined.select(
        _.number, _.card_key, _.opened_utc, _.closed_utc, _.promised_utc, _.technician, _.no_fix,
        model=ibis.coalesce(_.told_model, _.card),
    )  # fmt: skip


def days_from(begin: Expression, end: Expression) -> Expression:
    """Days between two moments, whole seconds of each: engines round parts of one differently."""
    return end.truncate("s").delta(begin.truncate("s"), unit="second") / 86400.0


def numbers(history: History, asked: Asked) -> Expression:
    """Readings that are numbers, the last of each in a run, with run, bench and model.

    Of a card that was tested several times on one bench the newest counts: its values are no news
    of the bench.
    """
    runs = real_runs(history, asked).filter(_.card_name.notnull())
    kept = history.table("readings").filter(_.value_kind == "number")
    kept = kept.mutate(number=_.value_number)
    order = ibis.window(group_by=["run_key", "stage", "reading"], order_by=ibis.desc(kept.row))
    last = kept.mutate(place=ibis.row_number().over(order)).filter(_.place == 0)
    last = last.select("run_key", "stage", "reading", "number", "unit", "verdict", "lower_limit",
                       "upper_limit", "uncertainty", "required")  # fmt: skip
    told = runs.select(
        _.run_key, _.card_key, _.bench_key, _.started_utc, _.run_id, _.ticket_number,
        model=_.card_name, run_verdict=_.verdict,
    )  # fmt: skip
    joined = last.join(told, "run_key").filter(_.number.notnull() & ~_.number.isnan())
    window = ibis.window(
        group_by=["card_key", "bench_key", "stage", "reading"],
        order_by=[ibis.desc(joined.started_utc), joined.run_key],
    )
    newest = joined.mutate(place=ibis.row_number().over(window)).filter(_.place == 0)
    return newest.drop("place")


def deliveries(history: History, asked: Asked) -> Expression:
    """Each time that a card went back repaired: for how long it was watched, and whether it came
    back.

    It came back where the same card has a later ticket, or its ticket was opened again. Of several
    handovers in a row the last one counts: until then the card was still here.
    """
    mine = tickets(history, asked)
    out = history.table("handovers").filter(_.verdict.isin(GIVEN_BACK))
    out = out.select(_.number, _.at_utc).join(mine, NUMBER)
    out = out.select(_.number, _.card_key, _.model, _.technician, _.at_utc)
    again = history.table("ticket_events").filter(_.kind == "reopened")
    again = again.select(_.number, back_utc=_.at_utc).join(mine, NUMBER)
    back = mine.select(other_key=_.card_key, back_utc=_.opened_utc).union(
        again.select(other_key=_.card_key, back_utc=_.back_utc), distinct=True
    )
    # A bench whose clock stood ahead opened it on a day to come: nothing came back by now.
    back = back.filter(_.back_utc <= ibis.literal(history.as_of, type="timestamp"))
    window = ibis.window(group_by="card_key", order_by=[out.at_utc, out.number])
    out = out.mutate(next_utc=_.at_utc.lead().over(window))
    paired = out.left_join(
        back, [out.card_key == back.other_key, out.at_utc < back.back_utc]
    )
    keys = ["number", "card_key", "model", "technician", "at_utc", "next_utc"]
    first = paired.group_by(keys).agg(back_utc=_.back_utc.min())
    gone = first.filter(
        _.next_utc.isnull() | (_.back_utc.notnull() & (_.back_utc <= _.next_utc))
    )
    end = ibis.coalesce(gone.back_utc, ibis.literal(history.as_of, type="timestamp"))
    watched = days_from(gone.at_utc, end)
    found = gone.mutate(watched_days=watched, came_back=gone.back_utc.notnull())
    return found.filter(_.watched_days >= 0.0).drop("next_utc")


def with_last_run(history: History, asked: Asked, out: Expression) -> Expression:
    """Deliveries with the newest run of the ticket before each."""
    runs = real_runs(history, asked).select(
        _.run_key, _.ticket_number, _.bench_key, _.profile_name, _.started_utc, _.verdict
    )
    paired = out.left_join(
        runs, [out.number == runs.ticket_number, out.at_utc >= runs.started_utc]
    )
    window = ibis.window(
        group_by=[paired.number, paired.at_utc],
        order_by=[ibis.desc(paired.started_utc), paired.run_key],
    )
    return paired.mutate(place=ibis.row_number().over(window)).filter(_.place == 0).drop("place")
