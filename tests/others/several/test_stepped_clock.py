"""The wall's clock is set on or back by hours: in a batch, a night, a page's view, a handover.

`gave:` is what came of a case when it was first carried out; without one it held. Berlin, 2026: at
01:00 UTC of 25 October clocks go from 03:00 to 02:00 (Directive 2000/84/EC, article 3).
"""

from __future__ import annotations

import os
import signal
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from burnin.cli.batch.session import new_batch
from burnin.cli.night import session as night
from burnin.cli.night.hours import hours_of
from burnin.cli.night.kept import Night
from burnin.cli.night.queue_file import QueueFile
from burnin.cli.request import Wish
from burnin.core.clock import WallClock, iso, moment_of
from burnin.core.errors import BurninError
from burnin.core.ticket_header import Ticket
from burnin.page import record_watch, round_of_runs, standing
from burnin.page.telling import tell
from burnin.page.telling.round import tell_round
from burnin.page.watching import Watching
from burnin.record.event_log import read_log
from burnin.record.reader import read_record
from burnin.record.writer import RecordWriter
from burnin.report.languages.catalogue import catalogue
from burnin.run.batch.power_log import PowerLog
from burnin.run.bench import Options
from burnin.ticket.handover.checking import check
from burnin.ticket.handover.handover import hand_over
from burnin.ticket.log.days_and_spans import utc_now
from burnin.ticket.log.store import add
from burnin.ticket.log.ticket_from_log import LOG
from burnin.ticket.put_off import put_off_stage, stages_put_off
from burnin.ticket.shop.known_keys import rotate
from burnin.ticket.shop.shop_file import Shop, write_example
from burnin.ticket.shop.shop_key import shop_key
from burnin.ticket.ticket_list import late_days
from tests.page.rounds import EIGHT, held, write_round, write_run
from tests.record import streams
from tests.ticket.tickets import profile, run_of, ticket

HOURS = [3.0, -3.0]


@pytest.fixture(autouse=True)
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BURNIN_SHOP", str(tmp_path / "shop"))


@dataclass
class Wall:
    """The clock on the wall, which somebody sets; what counts seconds is left alone."""

    set_on_s: float = 0.0

    def utc(self) -> datetime:
        return datetime.now(UTC) + timedelta(seconds=self.set_on_s)

    def time(self) -> float:
        return time.time() + self.set_on_s

    def monotonic(self) -> float:
        return time.monotonic()


@pytest.fixture
def wall(monkeypatch: pytest.MonkeyPatch) -> Wall:
    """The page's own view of the wall's clock."""
    clock = Wall()

    class Day(datetime):
        @classmethod
        def now(cls, tz: object = None) -> datetime:  # type: ignore[override]  # noqa: ARG003
            return clock.utc()

    for module in (record_watch, round_of_runs):
        monkeypatch.setattr(module, "time", clock)
    for other in (tell, standing):
        monkeypatch.setattr(other, "datetime", Day, raising=False)
    return clock


def shown(watching: Watching, results: Path) -> dict[str, object]:
    with watching.round_shown():
        while watching.look() or watching.round_revision() is None:
            continue
        watching.look()
        with watching.round() as found:
            return tell_round(found, catalogue("en"), results)


def first(told: dict[str, object]) -> dict[str, object]:
    return told["cards"][0]  # type: ignore[index,no-any-return]


@pytest.mark.parametrize("hours", HOURS)
def test_a_prompt_on_the_page_keeps_its_time_and_its_run_stays_under_way(
    hours: float, wall: Wall, tmp_path: Path
) -> None:
    # gave: set on, "0 s left" while the run waited another ten minutes
    with held(write_round(tmp_path, EIGHT[1:2])):
        watching = Watching(tmp_path)
        before = shown(watching, tmp_path)
        wall.set_on_s = hours * 3600.0
        after = shown(watching, tmp_path)
    assert first(after)["phase"] == first(before)["phase"] == "running"
    left = str(after["prompt"]["left"])  # type: ignore[index]
    assert "10 min" in left or "9 min" in left, left


def written_at(folder: Path, second: float) -> None:
    for file in folder.iterdir():
        os.utime(file, (second, second))


@pytest.mark.parametrize("hours", HOURS)
def test_the_round_of_now_is_shown_whatever_day_an_older_record_tells(
    hours: float, wall: Wall, tmp_path: Path
) -> None:
    # gave: set back, the page showed the finished run of before, not the one that goes on
    begun_s = streams.STARTED.timestamp()
    older = write_run(tmp_path, 5, replace(EIGHT[4], began_after_s=14_400.0))
    written_at(older, begun_s + 14_700.0)
    now_s = 15_000.0 + hours * 3600.0
    goes_on = write_run(tmp_path, 1, replace(EIGHT[0], began_after_s=now_s - 60.0))
    written_at(goes_on, begun_s + now_s)
    wall.set_on_s = begun_s + now_s - time.time()
    with held([goes_on]):
        assert goes_on in round_of_runs.RoundOfRuns(tmp_path).found()


def test_a_run_that_was_cut_off_is_not_under_way_because_its_rows_are_of_tomorrow(
    wall: Wall, tmp_path: Path
) -> None:
    begun_s = streams.STARTED.timestamp()
    cut = write_run(tmp_path, 1, EIGHT[0])
    ended = write_run(tmp_path, 5, replace(EIGHT[4], began_after_s=-7200.0))
    written_at(cut, begun_s + 60.0)
    written_at(ended, begun_s - 7000.0)
    wall.set_on_s = begun_s - 7100.0 - time.time()
    assert round_of_runs.RoundOfRuns(tmp_path).found() == [cut]
    assert first(shown(Watching(tmp_path), tmp_path))["word"]["text"] == "CUT OFF"  # type: ignore[index]


class Stepping(streams.HandClock):
    """A run's clock whose wall is set by hours in the middle."""

    hours = 0.0

    def utc(self) -> datetime:
        late = self.monotonic_s() > 1.6
        return super().utc() + timedelta(hours=self.hours * late)


@pytest.mark.parametrize("hours", HOURS)
def test_a_record_over_a_step_is_whole_and_counts_its_seconds_on(
    hours: float, tmp_path: Path
) -> None:
    from tests.page.rounds import _events

    clock = Stepping(0.0)
    clock.hours = hours
    writer = RecordWriter(tmp_path / "r", clock, 0.0, simulated=True)
    for event in _events("r", "2026-03-02T09:15:00.000Z", EIGHT[4]):
        clock.sleep_s(0.5)
        writer(event)
    writer.close()
    record = read_record(tmp_path / "r")
    spent = [float(entry.elapsed_s) for entry in record.journal]
    assert spent == sorted(spent)
    assert spent[-1] < 60.0


def test_the_ledger_counts_on_and_two_batches_of_one_hour_are_two(tmp_path: Path) -> None:
    clock = Stepping(0.0)
    clock.hours = -1.0
    log = PowerLog(tmp_path / "p.csv", clock, 100.0, lambda _: None, simulated=True)
    for _ in range(6):
        log(clock.monotonic_s(), "0000:01:00.0", "given", 50.0)
        clock.sleep_s(0.5)
    log.close()
    rows = [line.split(",") for line in (tmp_path / "p.csv").read_text("utf-8").splitlines()[1:]]
    spent = [float(row[0]) for row in rows if row[0]]
    assert len(spent) >= 6
    assert spent == sorted(spent)
    ids = {new_batch((), Options(simulated="three_cards")).batch_id for _ in range(20)}
    assert len(ids) == 20


def _night(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, wall: Wall, step_s: float
) -> list[float]:
    """A night that waits for a card that is not there; at its second look the clock is set."""
    looks: list[float] = []

    class Clock(WallClock):
        def utc(self) -> datetime:
            return wall.utc()

    def cards(_: Options) -> tuple[()]:
        looks.append(time.monotonic())
        if len(looks) == 6:
            signal.raise_signal(signal.SIGTERM)
        return ()

    class Time:
        def sleep(self, seconds: float) -> None:
            if len(looks) >= 3:  # while it waits
                wall.set_on_s = step_s
            time.sleep(seconds)

    monkeypatch.setattr(night, "time", Time())
    monkeypatch.setattr(night, "WallClock", Clock)
    monkeypatch.setattr(night, "cards_of_bench", cards)
    monkeypatch.setattr(night, "_LOOKS_EVERY", timedelta(seconds=0.1))
    monkeypatch.setattr(night, "_STEP_S", 0.01)
    until = (wall.utc() + timedelta(hours=6)).strftime("%H:%M")
    file = tmp_path / "tonight.toml"
    file.write_text(f'until = "{until}"\n[[cards]]\ncard = "07:00.0"\n', "utf-8")
    tired = threading.Timer(6.0, lambda: os.kill(os.getpid(), signal.SIGTERM))
    tired.start()
    try:
        night.run_night(_wish(tmp_path), file)
    finally:
        tired.cancel()
    return looks


def _wish(tmp_path: Path) -> Wish:
    return Wish(
        profile="", options=Options(simulated="three_cards"), ticket=Ticket(),
        left_out=frozenset(), monitors="", unattended=True, resume=None,
        results=tmp_path / "results", show_all=False, as_json=False,
    )  # fmt: skip


def test_a_night_whose_clock_is_set_back_still_looks_for_its_card(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # gave: it looked again when the clock had come to where it was: three hours later
    assert len(_night(tmp_path, monkeypatch, Wall(), -3 * 3600.0)) >= 6


def test_a_night_whose_clock_is_set_on_beyond_its_end_ends(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    looks = _night(tmp_path, monkeypatch, Wall(), 7 * 3600.0)
    assert len(looks) < 6


def test_a_night_that_goes_on_in_the_hour_that_comes_twice_does_not_begin_again() -> None:
    content = {"cards": ({"card": "01:00.0"},), "from": "02:30", "until": "06:00"}
    queue = QueueFile.model_validate(content)
    began = hours_of(queue, datetime(2026, 10, 24, 22, 0, tzinfo=UTC), "Europe/Berlin")
    assert began.until is not None
    cut = began.begins + timedelta(minutes=50)  # it shows 02:20, for the second time
    kept = Night("n", "tonight.toml", iso(began.begins), iso(began.begins), iso(began.until))
    again = night._hours(queue, kept, cut, Shop(time_zone="Europe/Berlin"))
    assert again.not_before(cut) is None
    assert again.until == began.until


@pytest.mark.parametrize("hours", HOURS)
def test_what_is_put_off_until_a_moment_is_not_done_before_it_and_never_twice(
    hours: float, tmp_path: Path
) -> None:
    there, now = ticket(tmp_path, profile="desktop_air"), utc_now()
    after = put_off_stage(there, "thermal_ramp", "pads come", "2h", now=now)
    (off,) = stages_put_off(after, profile(), now).values()
    moment = moment_of(off.from_utc)
    assert moment is not None
    stepped = now + timedelta(hours=hours)
    assert bool(stages_put_off(after, profile(), stepped)) is (stepped < moment)


@pytest.mark.parametrize("hours", HOURS)
def test_a_handover_over_a_step_verifies_and_its_log_never_runs_back(
    hours: float, tmp_path: Path
) -> None:
    there = ticket(tmp_path, profile="desktop_air")
    run_of(there, 1.0)
    now = utc_now()
    add(there, "noted", {"text": "before the step"}, now=now)
    made = hand_over(there, languages=("en",), now=now + timedelta(hours=hours))
    assert check(made.folder).faults == ()
    add(made.ticket, "reopened", {}, now=now)
    add(made.ticket, "noted", {"text": "after"}, now=now)
    times = [event.time_utc for event in read_log(there.folder / LOG).events]
    assert times == sorted(times)


def test_a_clock_behind_the_shops_key_is_told_at_the_handover_not_at_the_customers(
    tmp_path: Path,
) -> None:
    # gave: signed and handed out; every verify said that the key is younger than the signature
    write_example(tmp_path / "shop")
    shop_key()
    rotate(None, utc_now())
    there = ticket(tmp_path, profile="desktop_air")
    run_of(there, 1.0)
    with pytest.raises(BurninError) as refused:
        hand_over(there, languages=("en",), now=utc_now() - timedelta(hours=3))
    assert "clock" in catalogue("en").say(refused.value.told)  # type: ignore[arg-type]
    assert not list(there.folder.glob("handover-*"))


@pytest.mark.parametrize("of", [lambda t, now: late_days(t, now)])
def test_nothing_is_late_by_less_than_nothing(
    of: Callable[..., int], tmp_path: Path
) -> None:
    there = ticket(tmp_path, promised="2026-03-10")
    for year in (1971, 2026, 2099):
        assert of(there, datetime(year, 3, 9, tzinfo=UTC)) >= 0
