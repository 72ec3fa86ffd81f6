"""A card's whole life at the shop: each ticket, repair, run and handover in order of time."""

from __future__ import annotations

from typing import Any

import ibis

from burnin.core.clock import iso
from burnin.core.errors import BadInput
from burnin.history.answer import Answer, Asked, Question, Rows
from burnin.history.headings import Heading
from burnin.history.meanings import HistoryReason
from burnin.history.opened import Expression, History
from burnin.history.questions.views import real_runs

REPAIRED, RUN, HANDED_OVER = "repaired", "run", "handed_over"
_SHOWN_BY_OTHERS = ("run_begun", "run_ended", REPAIRED, HANDED_OVER)
"""Lines of a ticket's log that a table of their own tells better."""
_: Any = ibis._


def rows(history: History, asked: Asked) -> Expression:
    """Everything that happened to a card, named by its key, its serial number or a ticket's number.

    Raises BadInput where none is named.
    """
    if not asked.card:
        raise BadInput(HistoryReason.NEEDS_CARD())
    named = ibis.literal(asked.card)
    tickets = history.table("tickets").filter(_.simulated == ibis.literal(asked.simulated))
    runs = real_runs(history, asked)
    keys = tickets.filter(
        (_.card_key == named) | (_.number == named) | (_.serial == named)
    ).select(_.card_key).union(
        runs.filter((_.card_key == named) | (_.card_uuid == named) | (_.ticket_number == named))
        .select(_.card_key),
        distinct=True,
    )  # fmt: skip
    mine = tickets.semi_join(keys, "card_key").select(_.number)
    logged = history.table("ticket_events").filter(~_.kind.isin(_SHOWN_BY_OTHERS))
    empty = ibis.literal("")
    parts = (
        logged.semi_join(mine, "number").select(
            _.at_utc, _.number, what=_.kind, detail=empty
        ),
        history.table("repairs").semi_join(mine, "number").select(
            at_utc=_.done_utc, number=_.number, what=ibis.literal(REPAIRED), detail=_.what
        ),
        runs.semi_join(keys, "card_key").select(
            at_utc=_.started_utc, number=_.ticket_number, what=ibis.literal(RUN), detail=_.verdict
        ),
        history.table("handovers").semi_join(mine, "number").select(
            at_utc=_.at_utc, number=_.number, what=ibis.literal(HANDED_OVER), detail=_.verdict
        ),
    )
    return ibis.union(*parts).order_by([_.at_utc, _.number, _.what])


def answer(found: Rows, asked: Asked) -> Answer:
    """One line for each thing that happened; raises BadInput for a card that was never here."""
    if not found:
        raise BadInput(HistoryReason.NO_SUCH_CARD(card=asked.card))
    columns = (Heading.WHEN, Heading.TICKET, Heading.WHAT, Heading.DETAIL)
    lines = tuple(
        (iso(row["at_utc"]) if row["at_utc"] else "", row["number"], row["what"], row["detail"])
        for row in found
    )
    return Answer(columns, lines)


QUESTION = Question("life", Heading.Q_LIFE, rows, answer)
