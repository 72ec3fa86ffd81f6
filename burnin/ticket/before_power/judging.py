"""Values of the unpowered card, judged by profile, twin and known-good card."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace

from burnin.core.meaning import Source
from burnin.core.quantities.spelling import OHM, VOLT
from burnin.core.reading import Limit, Reading, Verdict, judge, not_measured
from burnin.profile.model import Profile
from burnin.ticket.before_power.meanings import BeforePowerReason, BeforePowerSource
from burnin.ticket.before_power.points import Wanted, wanted
from burnin.ticket.before_power.shown_quantity import shown_quantity
from burnin.ticket.log.whole_ticket import Measured, WholeTicket

OPEN, SAME, DIFFERS = "open", "same", "differs"
"""Values that are words."""
BESIDE_TWIN, BESIDE_KNOWN_GOOD = "beside_twin", "beside_known_good"
"""Names of readings that compare; the points follow after a blank."""
KNOWN_GOOD_WITHIN = 0.3
"""Share by which a supply's resistance may differ from a known-good card's; no source."""
KNOWN_GOOD_WITHIN_V = 0.05
"""Most that a diode-mode reading may differ from a known-good card's; no source."""


def is_stale(ticket: WholeTicket, want: Wanted, value: Measured) -> bool:
    """Whether the card was worked on since in a way that this value cannot know of."""
    if ticket.board_replaced_utc > value.time_utc:
        return True
    later = [r for r in ticket.repairs if r.time_utc > value.time_utc]
    if want.point.kind == "supply":
        return bool(later)
    touched = {name for r in later for name in (*r.contacts, *(f"ground-{p}" for p in r.patches))}
    return bool(touched & {*want.point.contacts, want.point.name})


def is_short(want: Wanted, value: Measured) -> bool:
    """Whether a value is a short where none may be: less than the point says, and 0 always."""
    if want.short_why is None or value.value is None:
        return False
    return value.value < want.short_below or value.value == 0.0


def unsettled(ticket: WholeTicket, value: Measured) -> Measured | None:
    """The value before this one that it does not agree with, though nobody worked on the card.

    None where there is none, or where the two agree: what was measured twice alike stands.
    """
    before = [m for m in ticket.measured if m.point == value.point and m is not value]
    if not before or before[-1].time_utc > value.time_utc:
        return None
    last = before[-1]
    worked = (ticket.last_repair_utc, *(r.time_utc for r in ticket.repairs))
    if any(last.time_utc <= moment <= value.time_utc for moment in worked if moment):
        return None
    if last.value is None or value.value is None:
        return None if last.value is value.value else last
    off = abs(last.value - value.value)
    within = max(last.value, value.value) * KNOWN_GOOD_WITHIN
    return last if off > max(within, math.hypot(last.uncertainty, value.uncertainty)) else None


def short_taken_back(want: Wanted, ticket: WholeTicket) -> Measured | None:
    """A short that was taken back as misread, where nobody measured there anew since; else None.

    Somebody's word takes a value back; only another value shows that there is no short.
    """
    slip = ticket.taken_back_last(want.point.name)
    return slip if slip is not None and is_short(want, slip) else None


def judged(
    profile: Profile | None, ticket: WholeTicket, known_good: WholeTicket | None = None
) -> tuple[Reading, ...]:
    """Every wanted value as a reading, and what a known-good card and the twin say of it."""
    found: list[Reading] = []
    wants = wanted(profile, ticket)
    for want in wants:
        value = ticket.latest(want.point.name)
        found.append(_judge(want, value, ticket))
        if value is not None and not is_stale(ticket, want, value):
            found += _against_twin(want, value, ticket)
    named = {want.point.name for want in wants}
    for point in dict.fromkeys(m.point for m in ticket.measured if m.point not in named):
        value = ticket.latest(point)
        assert value is not None
        found.append(_recorded(value))
    if known_good is not None:
        found += _against_known_good(ticket, known_good)
    return tuple(found)


def _judge(want: Wanted, value: Measured | None, ticket: WholeTicket) -> Reading:
    point = want.point
    slip = ticket.taken_back_last(point.name) if value is None else short_taken_back(want, ticket)
    if slip is not None or value is None:
        reason = BeforePowerReason.NOBODY_MEASURED()
        if slip is not None:
            was = shown_quantity(slip.value, slip.unit)
            reason = BeforePowerReason.TAKEN_BACK(was=was)
        return not_measured(
            point.name, point.unit, reason, limit=want.limit, required=want.required
        )
    source = _source(value)
    if is_stale(ticket, want, value):
        was = shown_quantity(value.value, value.unit)
        return not_measured(
            point.name,
            point.unit,
            BeforePowerReason.WORKED_ON_SINCE(was=was),
            limit=want.limit,
            source=source,
            required=want.required,
        )
    before = unsettled(ticket, value)
    found = judge_alone(want, value)
    if before is None or found.verdict is Verdict.FAIL:
        return found
    was, reads = shown_quantity(before.value, value.unit), shown_quantity(value.value, value.unit)
    why = BeforePowerReason.UNSETTLED(was=was, reads=reads)
    return replace(found, verdict=Verdict.UNSURE, reason=why)


def judge_alone(want: Wanted, value: Measured) -> Reading:
    """A value by what the profile wants of its point, whatever else the ticket says."""
    source = _source(value)
    return _judge_open(want, source) if value.value is None else _judge_value(want, value, source)


def _judge_value(want: Wanted, value: Measured, source: Source) -> Reading:
    assert value.value is not None
    found = judge(
        want.point.name,
        value.value,
        want.point.unit,
        want.limit,
        uncertainty=value.uncertainty,
        source=source,
        required=want.required,
    )
    reads = shown_quantity(value.value, value.unit)
    if want.short_why is not None and is_short(want, value):
        return replace(found, verdict=Verdict.FAIL, reason=want.short_why(reads=reads))
    least = want.limit.lower if want.limit else None
    between = want.point.kind == "supply" and least is not None and value.value < least
    if not between or found.verdict is not Verdict.FAIL or least is None:
        return found
    short = shown_quantity(want.short_below, value.unit)
    why = BeforePowerReason.BETWEEN(reads=reads, short=short, least=shown_quantity(least, OHM))
    return replace(found, verdict=want.between_is, reason=why)


def _judge_open(want: Wanted, source: Source) -> Reading:
    """Over the range, as the point says; no number to be compared with a limit."""
    good = want.open_is is Verdict.PASS
    return Reading(
        want.point.name,
        OPEN,
        want.point.unit,
        limit=want.limit,
        verdict=want.open_is,
        reason=None if good else want.open_why(),
        source=source,
        required=want.required,
    )


def _recorded(value: Measured) -> Reading:
    shown: float | str = OPEN if value.value is None else value.value
    return Reading(
        value.point, shown, value.unit, value.uncertainty, source=_source(value), required=False
    )


def _source(value: Measured) -> Source:
    if value.file:
        if value.by:
            return BeforePowerSource.FROM_FILE_BY(file=value.file, by=value.by)
        return BeforePowerSource.FROM_FILE(file=value.file)
    if value.by:
        return BeforePowerSource.TYPED_BY(by=value.by)
    return BeforePowerSource.TYPED()


def _against_twin(want: Wanted, value: Measured, ticket: WholeTicket) -> Iterable[Reading]:
    """The sound leg of the same pair must read the same."""
    if not want.twin or want.twin_within_v is None:
        return
    other = ticket.latest(want.twin)
    name = f"{BESIDE_TWIN} {want.point.name} {want.twin}"
    limit = Limit(-want.twin_within_v, want.twin_within_v)
    if other is None:
        reason = BeforePowerReason.NOBODY_MEASURED_TWIN(point=want.twin)
        yield not_measured(name, VOLT, reason, limit=limit, required=False)
    elif value.value is not None and other.value is not None:
        both = math.hypot(value.uncertainty, other.uncertainty)
        yield judge(
            name,
            value.value - other.value,
            VOLT,
            limit,
            uncertainty=both,
            source=BeforePowerSource.OF_TWO_LEGS(),
            required=want.required,
        )


def _against_known_good(ticket: WholeTicket, good: WholeTicket) -> Iterable[Reading]:
    for point in dict.fromkeys(m.point for m in ticket.measured):
        value, other = ticket.latest(point), good.latest(point)
        if value is None or other is None:
            continue
        name = f"{BESIDE_KNOWN_GOOD} {point}"
        if value.value is None or other.value is None:
            same = (value.value is None) == (other.value is None)
            yield Reading(
                name,
                SAME if same else DIFFERS,
                "",
                allowed=(SAME,),
                verdict=Verdict.PASS if same else Verdict.FAIL,
                reason=None if same else BeforePowerReason.OPEN_ON_ONE_CARD(),
                required=False,
            )
            continue
        within = KNOWN_GOOD_WITHIN_V if value.unit == VOLT else KNOWN_GOOD_WITHIN * other.value
        both = math.hypot(value.uncertainty, other.uncertainty)
        yield judge(
            name,
            abs(value.value - other.value),
            value.unit,
            Limit(upper=within),
            uncertainty=both,
            source=BeforePowerSource.OF_TWO_CARDS(number=good.number),
            required=False,
        )


def shorts(profile: Profile | None, ticket: WholeTicket) -> tuple[tuple[Wanted, Measured], ...]:
    """Points of which a value is a short, whether or not the card was worked on since.

    A repair does not take a short away: a new value does; and where nobody worked on the card in
    between, one that is confirmed. Nor does somebody's word that it was misread. In diode mode
    nothing keeps power off.
    """
    found = []
    for want in wanted(profile, ticket):
        value = ticket.latest(want.point.name)
        slip = short_taken_back(want, ticket)
        if slip is not None and slip.unit == OHM:
            found.append((want, slip))
            continue
        if value is None or value.unit != OHM:
            continue
        before = unsettled(ticket, value)
        short = next((m for m in (value, before) if m is not None and is_short(want, m)), None)
        if short is not None:
            found.append((want, short))
    return tuple(found)
