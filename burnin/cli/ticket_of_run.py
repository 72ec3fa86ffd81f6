"""What a run's ticket says before it begins: its card, what waits, and that it is on its log."""

from __future__ import annotations

import sys
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from burnin.cli.terms import CliRefusal
from burnin.core.answers.form import Form
from burnin.core.answers.meanings import AnswerTerm, WithoutTerm
from burnin.core.answers.reader import YES_NO, Said, read
from burnin.core.errors import BadInput
from burnin.core.meaning import Prompt, Term
from burnin.ticket.bound_card.facts import Facts, differences, facts_of
from burnin.ticket.bound_card.meanings import CardPrompt, OtherCard
from burnin.ticket.first_light.observing import Ask, Tell
from burnin.ticket.log.days_and_spans import utc_now
from burnin.ticket.log.whole_ticket import WholeTicket
from burnin.ticket.proven.card_of_ticket import unlike
from burnin.ticket.runs_on_ticket import RunBegins, begun, other_card_refused
from burnin.ticket.ticket_for_run import TicketForRun, told_to_run

if TYPE_CHECKING:
    from burnin.profile.loader import LoadedProfile
    from burnin.record.reader import Record
    from burnin.run.bench import OpenBench
    from burnin.run.plan import RunPlan

_SHORTEST_REASON = 10
_ASK_S = 120.0
_MOST_TIMES = 5
_NO_WITHOUT = Form(
    AnswerTerm.YES_NO(), silence=WithoutTerm.AS_NO(), enter=WithoutTerm.AS_NO()
)


@dataclass(frozen=True)
class Asked:
    """What of `burnin run` bears on its ticket; `at_terminal`: somebody may be asked."""

    simulated: bool
    now_words: str
    at_terminal: bool
    language: str


@dataclass(frozen=True)
class CardFound:
    """The card on the bench: its facts (None: none enumerated), and in what it is another one."""

    facts: Facts | None
    differs: tuple[Term, ...] = ()


def check_reason(now_words: str) -> None:
    """Raise BadInput where the reason for not waiting is no reason."""
    if now_words and len(now_words.strip()) < _SHORTEST_REASON:
        raise BadInput(CliRefusal.NOW_NEEDS_REASON(least_count=_SHORTEST_REASON))


def check_simulated(ticket: WholeTicket | None, asked: Asked) -> None:
    """Raise BadInput where a real card would be worked for a ticket of the simulated machine.

    Its record would lie in the ticket for good, and be no part of what was asked for.
    """
    if ticket is not None and ticket.simulated and not asked.simulated:
        raise BadInput(OtherCard.TICKET_SIMULATED(number=ticket.number))


def card_found(ticket: WholeTicket, opened: OpenBench, asked: Asked) -> CardFound:
    """The card on the bench beside the ticket's; raises BadInput for another one.

    Where somebody is at the terminal it is asked whether to go on.
    """
    if opened.identity is None:
        return CardFound(None)
    facts = facts_of(opened.identity, opened.card.outputs())
    differs = unlike(ticket, facts, simulated=asked.simulated)
    if differs and not _goes_on(ticket, differs, asked):
        raise other_card_refused(ticket, differs)
    return CardFound(facts, differs)


def check_card_of_record(record: Record, opened: OpenBench) -> None:
    """Raise BadInput where another card is on the bench than a record was begun with."""
    then = record.run.card
    if then is None or opened.identity is None:
        return
    differs = differences(facts_of(then), facts_of(opened.identity), must_be_told=False)
    if differs:
        terms = tuple(term for _, term in differs)
        raise BadInput(OtherCard.ON_BENCH(folder=str(record.folder), differs=terms))


def told(
    ticket: WholeTicket, loaded: LoadedProfile | None, asked: Asked, found: CardFound | None
) -> TicketForRun:
    """What the ticket says of this run; raises BadInput where no power may be put on the card."""
    said = told_to_run(
        ticket,
        loaded,
        utc_now(),
        simulated=asked.simulated,
        differs=found.differs if found else (),
        now_words=asked.now_words,
    )
    if said.refusal:
        raise BadInput(said.refusal)
    return said


def with_ticket(plan: RunPlan, said: TicketForRun) -> RunPlan:
    """The plan with what the ticket puts off, owes and notes."""
    return replace(
        plan,
        left_out_why={**plan.left_out_why, **said.left_out_why},
        ticket_owed=said.owed,
        notes=(*plan.notes, *said.notes),
    )


def put_on_log(
    ticket: WholeTicket, plan: RunPlan, asked: Asked, found: CardFound, said: TicketForRun
) -> None:
    """Put the run on the ticket's log, with its card where that is not bound; raises BadInput."""
    begins = RunBegins(
        run=plan.opening.run_id,
        simulated=asked.simulated,
        card=found.facts,
        other_card=bool(found.differs),
        now_words=asked.now_words.strip(),
        now_stages=said.before_time,
    )
    begun(ticket.folder, begins)


def _goes_on(ticket: WholeTicket, differs: tuple[Term, ...], asked: Asked) -> bool:
    if not asked.at_terminal or not sys.stdin.isatty():
        return False
    from burnin.cli.terminal.bench_prompts import ask_timed, telling
    from burnin.report.languages.catalogue import catalogue

    words = catalogue(asked.language)
    ask, tell = ask_timed(words), telling(words)
    prompt = _NO_WITHOUT.on(CardPrompt.GO_ON(number=ticket.number, differs=differs))
    return agreed(ask, tell, prompt)


def agreed(ask: Ask, tell: Tell, prompt: Prompt) -> bool:
    """Whether somebody said yes; what is neither yes nor no is asked again, silence is a no."""
    for _ in range(_MOST_TIMES):
        answer = ask(prompt, _ASK_S)
        if answer is None:
            return False
        try:
            return read(answer, YES_NO) is Said.YES
        except BadInput as error:
            tell(error.told)
    return False
