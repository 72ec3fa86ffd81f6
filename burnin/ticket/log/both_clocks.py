"""What a joint's cure is worth where the wall's clock was set: a wrong clock cures no glue."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

from burnin.card.files import HostFiles
from burnin.core.reading import NotMeasured
from burnin.record.clock_stamp import ClockStamp, seconds_between, set_on_s, stamped
from burnin.record.event_log import Log
from burnin.stages.boot import read_boot
from burnin.ticket.log.corrections import repairs_entered
from burnin.ticket.log.days_and_spans import moment_of, utc_now
from burnin.ticket.log.whole_ticket import Repair, WholeTicket

CORRECTED_S = 120.0
"""A clock that is set by no more was only put right, and nothing cures by the minute (common
practice, no source)."""


def present_stamp() -> ClockStamp | None:
    """What both clocks of this bench show now; None where it tells only the wall's."""
    boot = read_boot(HostFiles())
    if isinstance(boot, NotMeasured):
        return None
    return stamped(utc_now(), boot.boot_id, boot.uptime_s)


def by_both_clocks(ticket: WholeTicket, log: Log, present: ClockStamp | None) -> WholeTicket:
    """The ticket with each repair's `set_on_s`, and by how much the clock lags behind its log.

    A repair that was logged without a stamp (by an older version) is told by the wall alone.
    """
    if present is None:
        return ticket
    places = [n for n, event in enumerate(log.events) if event.kind == "repaired"]
    places = places[len(places) - repairs_entered(ticket) :]
    repairs = tuple(
        replace(repair, set_on_s=_set_on_since(log, places[repair.number - 1], present))
        for repair in ticket.repairs
    )
    lags_s = seconds_between(present.utc, log.events[-1].time_utc) if log.events else 0.0
    return replace(
        ticket, repairs=repairs, clock_lags_s=lags_s if lags_s > CORRECTED_S else 0.0
    )


def cured_at(repair: Repair) -> datetime:
    """When a repair is cured, by the clock as it stands now; of one that need not: the earliest."""
    try:
        return moment_of(repair.cured_utc) + timedelta(seconds=repair.set_on_s)
    except OverflowError:
        return moment_of(repair.cured_utc)


def _set_on_since(log: Log, place: int, present: ClockStamp) -> float:
    """By how much the clock was set since an event; 0 for what is no more than a correction."""
    if log.events[place].clock is None:
        return 0.0
    stamps = [event.clock for event in log.events[place:] if event.clock is not None]
    found = set_on_s([*stamps, present])
    return found if abs(found) > CORRECTED_S else 0.0
