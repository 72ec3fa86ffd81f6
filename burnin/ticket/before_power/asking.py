"""The round of `measure` without a point: each point once, with a way back after a slip."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from burnin.connector.contact_map import KEY_AFTER, contacts, from_key_mm
from burnin.core.answers.form import Form
from burnin.core.answers.meanings import AnswerTerm, GoodTerm, WithoutTerm
from burnin.core.answers.reader import Said, is_back, is_skip, read, why_skipped
from burnin.core.errors import BadInput
from burnin.core.meaning import Note, Prompt, Reason, Term
from burnin.core.quantities.quantity import Meter
from burnin.core.reading import Verdict
from burnin.profile.model import Profile
from burnin.ticket.before_power.doubt import asked_back, doubt
from burnin.ticket.before_power.judging import judged, unsettled
from burnin.ticket.before_power.meanings import MeasureNote, MeasurePrompt, PointTerm
from burnin.ticket.before_power.points import Point, Wanted, wanted
from burnin.ticket.before_power.shown_quantity import shown_quantity
from burnin.ticket.before_power.values import Entry, quantity_of, take
from burnin.ticket.log.store import add
from burnin.ticket.log.whole_ticket import WholeTicket

Tell = Callable[[Note | Reason | str], None]
"""Tells a note, or what is wrong with what was typed."""
Ask = Callable[[Prompt], str]
"""Asks and gives the line that was typed; empty where nobody types any more."""


def ask_each(
    ticket: WholeTicket,
    wants: Sequence[Wanted],
    profile: Profile | None,
    meter: Meter,
    ask: Ask,
    tell: Tell,
    by: str,
) -> WholeTicket:
    """One prompt a point; each value is kept at once, so that nothing is asked twice.

    Whoever goes back gives a newer value; the earlier one stays in the log. Where the two disagree
    nobody can say which was the slip, so that it is asked once more until two agree.
    """
    at = 0
    while at < len(wants):
        want = wants[at]
        line = ask(prompt_of(want, at + 1, len(wants)))
        if not line:
            return ticket
        line = line.strip()
        why = why_skipped(line)
        if is_back(line):
            if at == 0:
                tell(MeasureNote.NONE_BEFORE())
            at = max(0, at - 1)
        elif why is not None:
            ticket = add(ticket, "noted", {"text": f"{want.point.name}: {why}"}, by=by)
            tell(MeasureNote.SKIPPED_WHY(title=want.title, why=why))
            at += 1
        elif is_skip(line):
            tell(MeasureNote.SKIPPED(title=want.title))
            at += 1
        else:
            try:
                entry = Entry(want.point.name, line)
                quantity = quantity_of(entry, want.point, meter)
                why_not = doubt(want, quantity, wanted(profile, ticket))
                if why_not is not None:
                    said = keep_all_the_same(why_not, ask, tell)
                    if said is None:
                        return ticket
                    if not said:
                        tell(MeasureNote.NOT_KEPT(title=want.title))
                        continue
                ticket = take(ticket, [entry], profile, meter=meter, by=by)
            except BadInput as error:
                tell(error.told)
                continue
            kept = ticket.latest(want.point.name)
            assert kept is not None  # it was just taken
            shown = shown_quantity(kept.value, kept.unit, kept.uncertainty)
            tell(MeasureNote.TAKEN(title=want.title, value=shown))
            before = unsettled(ticket, kept)
            if before is None:
                _tell_what_is_wrong(want, profile, ticket, tell)
                at += 1
            else:
                was = shown_quantity(before.value, before.unit)
                tell(MeasureNote.ONCE_MORE(was=was, value=shown_quantity(kept.value, kept.unit)))
    return ticket


def keep_all_the_same(why: Reason, ask: Ask, tell: Tell) -> bool | None:
    """Whether somebody keeps a value that is hardly of its point; None where nobody is there."""
    while True:
        line = ask(asked_back(why))
        if not line:
            return None
        if is_skip(line):
            return False
        try:
            return read(line, (Said.YES, Said.NO)) is Said.YES
        except BadInput as error:
            tell(error.told)


def _tell_what_is_wrong(
    want: Wanted, profile: Profile | None, ticket: WholeTicket, tell: Tell
) -> None:
    """What speaks against the value that was just taken, while the probe is still at hand."""
    for reading in judged(profile, ticket):
        bad = reading.verdict in (Verdict.FAIL, Verdict.UNSURE)
        if reading.name == want.point.name and bad and reading.reason is not None:
            tell(reading.reason)


def prompt_of(want: Wanted, number: int, of_count: int) -> Prompt:
    """What is asked at a point, with its limit and where its contacts are."""
    form = Form(
        AnswerTerm.VALUE(unit=want.point.unit),
        good=_good(want),
        where=tuple(place_of(name) for name in want.point.contacts),
        enter=WithoutTerm.LATER(),
        number=number,
        of_count=of_count,
        back=True,
    )
    return form.on(MeasurePrompt.VALUE(title=want.title, unit=want.point.unit))


def place_of(contact: str) -> Term:
    """Where a contact lies on the edge, in words: its side, and how far from the key notch.

    Side B is the component side of a card (PCI Express CEM; from memory).
    """
    found = contacts()[contact]
    mm = from_key_mm(found.number)
    beyond = found.number > KEY_AFTER
    term = {
        ("A", False): PointTerm.AT_A_BRACKET,
        ("A", True): PointTerm.AT_A_BEYOND,
        ("B", False): PointTerm.AT_B_BRACKET,
        ("B", True): PointTerm.AT_B_BEYOND,
    }[found.side, beyond]
    nth = found.number - KEY_AFTER if beyond else KEY_AFTER + 1 - found.number
    return term(contact=contact, mm=mm, nth=nth)


def _good(want: Wanted) -> Term:
    limit = want.limit
    least = None if limit is None else limit.lower
    most = None if limit is None else limit.upper
    if least is not None and most is not None:
        return GoodTerm.BETWEEN(least=_shown(want.point, least), most=_shown(want.point, most))
    if most is not None:
        return GoodTerm.AT_MOST(most=_shown(want.point, most))
    if least is None:
        return GoodTerm.NO_LIMIT()
    if want.open_is is Verdict.PASS:
        return GoodTerm.AT_LEAST_OR_OPEN(least=_shown(want.point, least))
    return GoodTerm.AT_LEAST(least=_shown(want.point, least))


def _shown(point: Point, value: float) -> Term:
    return shown_quantity(value, point.unit)
