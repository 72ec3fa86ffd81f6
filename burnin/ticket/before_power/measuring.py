"""Measuring at the bench: one value, a file of values, or a prompt for each that is owed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from burnin.core.errors import BadInput
from burnin.core.meaning import Reason
from burnin.core.quantities.quantity import Meter, parse_meter
from burnin.core.reading import Reading, Verdict
from burnin.profile.model import Profile
from burnin.ticket.before_power.asking import Ask, Tell, ask_each, keep_all_the_same
from burnin.ticket.before_power.doubt import doubt
from burnin.ticket.before_power.judging import is_stale, judged, short_taken_back
from burnin.ticket.before_power.meanings import MeasureNote
from burnin.ticket.before_power.points import Wanted, wanted
from burnin.ticket.before_power.refusals import BeforePowerRefusal
from burnin.ticket.before_power.value_file import read_csv
from burnin.ticket.before_power.values import Entry, quantity_of, take
from burnin.ticket.log.store import read_ticket
from burnin.ticket.log.whole_ticket import WholeTicket
from burnin.ticket.proven.counting import runs_that_count
from burnin.ticket.proven.ticket_profile import profile_of_ticket
from burnin.ticket.shop.shop_file import load_shop


def measure(
    results: Path,
    number: str,
    point: str,
    value: str,
    csv: Path | None,
    meter: str,
    like: str,
    ask: Ask,
    tell: Tell,
    *,
    by: str = "",
) -> tuple[WholeTicket, tuple[Reading, ...]]:
    """Take values and judge all there are; raises BadInput with the ticket unchanged."""
    ticket = read_ticket(results, number)
    good = read_ticket(results, like) if like else None
    loaded = profile_of_ticket(ticket, runs_that_count(ticket))
    profile = loaded.profile if loaded else None
    accuracy = parse_meter(meter or load_shop().meter or "1%+0.05")
    if csv is not None:
        if point:
            raise BadInput(BeforePowerRefusal.POINT_OR_FILE())
        rows = read_csv(csv)
        ticket = take(ticket, rows, profile, meter=accuracy, file=csv.name, by=by)
        for why in _doubts(ticket, rows, profile, accuracy):
            tell(why)
    elif point:
        entry = Entry(point, value)
        for why in _doubts(ticket, [entry], profile, accuracy):
            # Where nobody is there to answer it is kept as it was typed, and the doubt is told.
            if keep_all_the_same(why, ask, tell) is False:
                tell(MeasureNote.NOT_KEPT(title=point))
                return ticket, judged(profile, ticket, good)
        ticket = take(ticket, [entry], profile, meter=accuracy, by=by)
    else:
        wants = still_wanted(ticket, profile)
        if not wants:
            tell(MeasureNote.ALL_MEASURED())
        ticket = ask_each(ticket, wants, profile, accuracy, ask, tell, by)
    return ticket, judged(profile, ticket, good)


def _doubts(
    ticket: WholeTicket, entries: Sequence[Entry], profile: Profile | None, meter: Meter
) -> Iterator[Reason]:
    """Of each value that is hardly of its point, why; what cannot be read is told by taking it."""
    wants = wanted(profile, ticket)
    for entry in entries:
        want = next((w for w in wants if w.point.name.lower() == entry.point.strip().lower()), None)
        if want is None:
            continue
        try:
            why = doubt(want, quantity_of(entry, want.point, meter), wants)
        except BadInput:
            continue
        if why is not None:
            yield why


def still_wanted(ticket: WholeTicket, profile: Profile | None) -> tuple[Wanted, ...]:
    """Points that nobody measured since the card was last worked on, or that read no good."""
    found = []
    bad = (Verdict.FAIL, Verdict.UNSURE)
    failing = {r.name for r in judged(profile, ticket) if r.verdict in bad}
    for want in wanted(profile, ticket):
        value = ticket.latest(want.point.name)
        gone = value is None or short_taken_back(want, ticket) is not None
        stale = value is not None and is_stale(ticket, want, value)
        if gone or stale or want.point.name in failing:
            found.append(want)
    return tuple(found)
