"""A wrong clock cures no glue: how long a joint has cured, told by both clocks of the bench."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import timedelta
from pathlib import Path

import pytest

from burnin.core.clock import iso
from burnin.profile.loader import load_profile
from burnin.record.clock_stamp import ClockStamp, set_on_s, stamp_of, stamped
from burnin.record.event_log import LogEvent, append, read_log
from burnin.ticket.intake.meanings import RepairTerm
from burnin.ticket.intake.repairs import add_repair, curing, uncured
from burnin.ticket.log.both_clocks import by_both_clocks, present_stamp
from burnin.ticket.log.days_and_spans import moment_of, span, utc_now
from burnin.ticket.log.store import add, ticket_at
from burnin.ticket.log.ticket_from_log import LOG
from burnin.ticket.log.whole_ticket import WholeTicket
from burnin.ticket.owed_work import owed_now
from burnin.ticket.put_off import put_off_by_cure
from tests.ticket.tickets import at, say, ticket

FIRST, SECOND = "b0c1", "77aa"
"""Two starts of the bench."""
HOUR_S = 3600.0


def shown(wall_h: float, start: str, since_start_h: float) -> ClockStamp:
    return stamped(at(wall_h), start, since_start_h * HOUR_S)


@pytest.mark.parametrize(
    ("stamps", "hours"),
    [
        ([shown(0, FIRST, 1), shown(5, FIRST, 6)], 0),
        ([shown(0, FIRST, 1), shown(26, FIRST, 2)], 25),
        ([shown(0, FIRST, 1), shown(-3, FIRST, 2)], -4),
        # set on and put right again, or twice in one direction
        ([shown(0, FIRST, 1), shown(26, FIRST, 2), shown(2, FIRST, 3)], 0),
        ([shown(0, FIRST, 1), shown(11, FIRST, 2), shown(22, FIRST, 3)], 20),
        # over a new start only the wall tells, and that no start is younger than itself
        ([shown(0, FIRST, 1), shown(20, SECOND, 0.1)], 0),
        ([shown(0, FIRST, 1), shown(2, SECOND, 6)], -4),
        ([shown(0, FIRST, 1), shown(26, FIRST, 2), shown(27, SECOND, 0.5)], 25),
        ([shown(0, FIRST, 1)], 0),
        ([], 0),
    ],
)
def test_how_far_the_clock_was_set_on(stamps: Sequence[ClockStamp], hours: float) -> None:
    assert set_on_s(stamps) == pytest.approx(hours * HOUR_S)


def glued(results: Path, *later: ClockStamp) -> WholeTicket:
    """A ticket with a joint glued at the start of all clocks, cure 24 h, and later notes."""
    folder = ticket(results).folder
    stamps = (shown(0, FIRST, 1.0), *later)
    fields = {"what": "pads", "cured_utc": iso(at(24))}
    events = [
        LogEvent(stamp.utc, "repaired" if not n else "noted", "", {} if n else fields, stamp)
        for n, stamp in enumerate(stamps)
    ]
    append(folder / LOG, lambda _: events)
    found = ticket_at(folder)
    assert found is not None
    return found


def seen_at(there: WholeTicket, present: ClockStamp) -> tuple[list[float], tuple[object, ...]]:
    """Hours of cure that are still to come, and all that is said of it, at that moment."""
    told = by_both_clocks(there, read_log(there.folder / LOG), present)
    now = moment_of(present.utc)
    open_ones = uncured(told, now)
    hours = [
        (moment_of(r.cured_utc) - now + timedelta(seconds=r.set_on_s)) / timedelta(hours=1)
        for r in open_ones
    ]
    said = curing(told, open_ones, now)["repairs"] if open_ones else ()
    assert isinstance(said, tuple)
    return hours, said


def cured(done_h: float) -> object:
    return RepairTerm.CURED_FOR(what="pads", done=span(done_h * HOUR_S), whole=span(24 * HOUR_S))


def test_a_right_clock_cures_by_the_wall(tmp_path: Path) -> None:
    there = glued(tmp_path)
    assert seen_at(there, shown(5, FIRST, 6)) == ([19.0], (cured(5),))
    assert seen_at(there, shown(24.1, FIRST, 25.1)) == ([], ())
    assert seen_at(there, shown(5, SECOND, 0.2)) == ([19.0], (cured(5),))
    assert seen_at(there, shown(25, SECOND, 0.2)) == ([], ())


def test_a_clock_that_was_set_on_cures_nothing(tmp_path: Path) -> None:
    there = glued(tmp_path)
    set_on = RepairTerm.CLOCK_SET_ON(by=span(25 * HOUR_S))
    assert seen_at(there, shown(26, FIRST, 2)) == ([23.0], (cured(1), set_on))
    assert seen_at(there, shown(49.1, FIRST, 25.1)) == ([], ())


def test_it_is_remembered_over_a_new_start(tmp_path: Path) -> None:
    there = glued(tmp_path, shown(26, FIRST, 2))
    set_on = RepairTerm.CLOCK_SET_ON(by=span(25 * HOUR_S))
    assert seen_at(there, shown(30, SECOND, 1)) == ([19.0], (cured(5), set_on))
    # and forgotten once the clock is right again
    assert seen_at(there, shown(3, FIRST, 4))[0] == [21.0]


def test_a_clock_that_was_set_back_takes_no_cure_away(tmp_path: Path) -> None:
    there = glued(tmp_path)
    set_back = RepairTerm.CLOCK_SET_BACK(by=span(4 * HOUR_S))
    assert seen_at(there, shown(1, FIRST, 6)) == ([19.0], (cured(5), set_back))
    assert seen_at(there, shown(21, FIRST, 26)) == ([], ())


def test_a_clock_that_stands_before_the_last_entry_is_named(tmp_path: Path) -> None:
    there = glued(tmp_path, shown(3, FIRST, 4))
    lags = RepairTerm.CLOCK_LAGS(by=span(2 * HOUR_S))
    assert seen_at(there, shown(1, SECOND, 0.1))[1][-1] == lags
    words = [say(term) for term in seen_at(there, shown(1, SECOND, 0.1))[1]]  # type: ignore[arg-type]
    assert "stands 2.0 h before the ticket's last entry" in words[-1]


def test_a_clock_that_was_only_put_right_is_not_spoken_of(tmp_path: Path) -> None:
    there = glued(tmp_path)
    assert seen_at(there, shown(5 + 1 / 60, FIRST, 6))[1] == (cured(5 + 1 / 60),)


def test_an_older_log_is_told_by_the_wall_alone(tmp_path: Path) -> None:
    folder = ticket(tmp_path).folder
    fields = {"what": "pads", "cured_utc": iso(at(24))}
    append(folder / LOG, lambda _: [LogEvent(iso(at(0)), "repaired", "", fields)])
    there = ticket_at(folder)
    assert there is not None
    note = LogEvent(iso(at(1)), "noted", "", {}, shown(26, FIRST, 1.0))
    append(folder / LOG, lambda _: [note])
    assert seen_at(there, shown(27, FIRST, 1.5)) == ([], ())


@pytest.mark.parametrize(
    "told",
    [
        None, 7, "now", [], {}, {"utc": "x", "boot_id": FIRST, "since_start_s": 1},
        {"utc": iso(at(0)), "boot_id": "", "since_start_s": 1},
        {"utc": iso(at(0)), "boot_id": FIRST, "since_start_s": "1"},
        {"utc": iso(at(0)), "boot_id": FIRST, "since_start_s": float("nan")},
        {"utc": iso(at(0)), "boot_id": FIRST, "since_start_s": -1},
        {"utc": iso(at(0)), "boot_id": FIRST, "since_start_s": 1e300},
        {"utc": 0, "boot_id": FIRST, "since_start_s": 1},
    ],
)  # fmt: skip
def test_what_is_no_stamp_is_passed_over(told: object) -> None:
    assert stamp_of(told) is None


def test_a_repair_of_this_moment_is_stamped_and_waits_though_the_clock_runs_ahead(
    tmp_path: Path,
) -> None:
    there = add_repair(ticket(tmp_path), "pads", contacts="B14-B15", cure="24h")
    log = read_log(there.folder / LOG)
    stamp = log.events[-1].clock
    assert stamp is not None
    assert stamp_of(json.loads(json.dumps(stamp.as_plain()))) == stamp
    now = present_stamp()
    assert now is not None
    assert now.boot_id == stamp.boot_id
    assert 0.0 <= now.since_start_s - stamp.since_start_s < 60.0
    ahead = stamped(utc_now() + timedelta(hours=25), now.boot_id, now.since_start_s)
    told = by_both_clocks(there, log, ahead)
    profile = load_profile("short_x8").profile
    put_off = put_off_by_cure(told, profile, moment_of(ahead.utc))
    assert put_off
    until = {moment_of(off.from_utc) for off in put_off.values()}
    [left_s] = [(moment - moment_of(ahead.utc)).total_seconds() for moment in until]
    assert 24 * HOUR_S - 60.0 < left_s <= 24 * HOUR_S
    assert [o for o in owed_now(told, now=moment_of(ahead.utc)) if o.from_utc]
    # by the right clock it is over a day later, and nothing is put off then
    assert put_off_by_cure(add(there, "noted", {"text": "x"}), profile, utc_now())
    assert not put_off_by_cure(there, profile, utc_now() + timedelta(hours=25))
