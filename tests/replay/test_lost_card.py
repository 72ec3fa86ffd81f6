"""A card that was lost in a record is lost in its replay: the load would have ended there."""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path

import pytest

from burnin.core.events import Event, RunStarted, SampleTaken, StageStarted
from burnin.core.reading import NotMeasured, ReadingReason
from burnin.core.sample import Sample, Telemetry
from burnin.guard.meanings import GuardReason
from burnin.profile.loader import load_profile
from burnin.record.reader import read_record
from burnin.replay.judging import Ends, Stops, judge_samples
from tests.record import streams
from tests.run.shared_runs import SharedRuns

STAGE = "2-link"
UNREAD = NotMeasured(ReadingReason.NOT_READ())


def samples(lost_at: int | None, count: int = 60) -> list[Sample]:
    """Ten a second under load; from `lost_at` on the card does not answer."""
    found = []
    for n in range(count):
        told = Telemetry(gpu_temp_c=41.0 + n // 20, power_w=200.0 + n % 5)
        one = replace(streams.sample(1.0 + n / 10.0, STAGE), telemetry=told, load_share=1.0)
        if lost_at is not None and n >= lost_at:
            one = replace(one, present=False, telemetry=Telemetry(gpu_temp_c=UNREAD))
        found.append(one)
    return found


def record_of(folder: Path, taken: list[Sample]) -> Path:
    start = streams.stream()[0]
    assert isinstance(start, RunStarted)
    events: list[Event] = [
        start, StageStarted(STAGE, "link", "", 1.0), *(SampleTaken(one) for one in taken),
    ]  # fmt: skip
    return streams.write(folder, events, sums=False)


@pytest.mark.parametrize("profile", [None, "desktop_air"])
@pytest.mark.parametrize("lost_at", [0, 1, 33, 59])
def test_the_first_sample_without_the_card_stops_the_load(
    lost_at: int, profile: str | None, tmp_path: Path
) -> None:
    folder = record_of(tmp_path / "r", samples(lost_at))
    loaded = None if profile is None else load_profile(profile)
    stop, end = judge_samples(read_record(folder), loaded)
    assert isinstance(stop, Stops)
    assert isinstance(end, Ends)
    assert stop.trip.guard == "lost card"
    assert stop.trip.reason == GuardReason.CARD_GONE()
    assert stop.time_s == pytest.approx(1.0 + lost_at / 10.0)
    assert stop.stage == STAGE
    assert end.stopped_at_s == stop.time_s


def test_a_card_that_stays_stops_nothing(tmp_path: Path) -> None:
    [end] = judge_samples(read_record(record_of(tmp_path / "r", samples(None))))
    assert isinstance(end, Ends)
    assert end.stopped_at_s is None


def test_what_the_run_saw_is_what_the_replay_sees(shared_runs: SharedRuns) -> None:
    """On the simulated machine: the replay stops at the very sample that ended the run."""
    ran = shared_runs.run("falls_off_bus", "desktop_air")
    with (ran.folder / "samples.csv").open(newline="") as table:
        gone = [row for row in csv.DictReader(table) if row["present"] == "no"]
    assert gone
    stop, *_ = judge_samples(ran.record)
    assert isinstance(stop, Stops)
    assert stop.trip.guard == "lost card"
    assert stop.time_s == pytest.approx(float(gone[0]["elapsed_s"]), abs=1e-3)
