"""What the meter said of repaired contacts, for a run that must tell the card from its slot."""

from __future__ import annotations

from burnin.core.meaning import Note
from burnin.core.parties import PartyNote
from burnin.core.reading import Verdict
from burnin.profile.model import Profile
from burnin.ticket.before_power.judging import judged
from burnin.ticket.before_power.points import wanted
from burnin.ticket.log.whole_ticket import WholeTicket


def pads_measured(profile: Profile, ticket: WholeTicket) -> tuple[Note, ...]:
    """Repaired contacts that are joined with their trace and with nothing else, and those not.

    Only what was measured since the card was last worked on there counts, and what the profile
    asks for: its limit is what good means.
    """
    readings = {reading.name: reading for reading in judged(profile, ticket)}
    joined: dict[str, bool] = {}
    bridged: set[str] = set()
    for want in wanted(profile, ticket):
        found = readings.get(want.point.name)
        if found is None or found.verdict not in (Verdict.PASS, Verdict.FAIL):
            continue
        if want.point.kind == "continuity":
            joined[want.point.contacts[0]] = found.verdict is Verdict.PASS
        elif want.point.kind == "isolation" and found.verdict is Verdict.FAIL:
            bridged.update(want.point.contacts)
    good = tuple(name for name, is_good in joined.items() if is_good and name not in bridged)
    bad = tuple(name for name, is_good in joined.items() if not is_good or name in bridged)
    notes = ((PartyNote.PADS_GOOD, good), (PartyNote.PADS_BAD, bad))
    return tuple(kind(contacts=names) for kind, names in notes if names)
