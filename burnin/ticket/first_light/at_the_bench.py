"""First light at the bench: asked of whoever is there, or given beforehand."""

from __future__ import annotations

from collections.abc import Sequence

from burnin.core.answers.meanings import AnswerReason
from burnin.core.errors import BadInput
from burnin.ticket.before_power.power_gate import may_power
from burnin.ticket.first_light.meanings import LightNote
from burnin.ticket.first_light.observing import (
    Ask,
    Tell,
    keep,
    observe,
    parse_answer,
    questions,
)
from burnin.ticket.log.whole_ticket import WholeTicket
from burnin.ticket.refusals import TicketRefusal


def first_light(
    ticket: WholeTicket,
    outputs: tuple[str, ...],
    given: Sequence[str],
    ask: Ask,
    tell: Tell,
    *,
    by: str = "",
) -> WholeTicket:
    """Ask and keep what is seen; raises BadInput where no power may be put on, or for a bad answer.

    Nothing is kept where nobody answered anything.
    """
    refusal = may_power(ticket)
    if refusal:
        raise BadInput(refusal)
    if given:
        answers = answers_of(given, outputs)
        ended = answers.get("smoke") == "yes"
    else:
        tell(LightNote.SWITCH_ON())
        answers, ended = observe(ask, tell, outputs)
    if not answers:
        raise BadInput(TicketRefusal.NOBODY_ANSWERED(number=ticket.number))
    return keep(ticket, answers, ended, by=by)


def answers_of(given: Sequence[str], outputs: tuple[str, ...]) -> dict[str, str]:
    """Answers such as ``smoke=no``, ``beeps=1``, ``image DP-1=yes``; raises BadInput."""
    forms = {q.key: q.form for q in questions(outputs)} | {"time_to_image_s": "number"}
    found = {}
    for text in given:
        key, equals, value = text.partition("=")
        if not equals or key.strip() not in forms:
            raise BadInput(TicketRefusal.NO_ANSWER(text=text, there=tuple(forms)))
        try:
            answer = parse_answer(forms[key.strip()], value)
        except BadInput as error:
            raise BadInput(AnswerReason.AT(name=key.strip(), why=error.told)) from error
        if answer is not None:
            found[key.strip()] = answer
    return found
