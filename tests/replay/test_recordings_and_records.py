"""Recordings and records of real cards, judged anew: the same stops, or none, as ever."""

from __future__ import annotations

import io
import json
import shutil
from pathlib import Path

import pytest

from burnin.core.errors import RecordError
from burnin.guard.guard import Trip
from burnin.profile.guards import Guards
from burnin.profile.loader import LoadedProfile, load_profile
from burnin.record.reader import read_record
from burnin.replay.case import Case, case_of_record, case_of_recording
from burnin.replay.judging import Ends, GoesOn, Judging, Skipped, Stops, judge_samples
from burnin.replay.recording_file import open_recording
from burnin.thermal.meanings import CoolingTerm
from burnin.thermal.states import CooledBy, Cooling
from tests.refusals import refused
from tests.replay.test_replay_lines import text_of
from tests.thermal.cards import DRY

RECORDS = ("compute_card_cuda", "compute_card_link_errors", "compute_card_vulkan")
QUIET = (
    "ramp_150_380_250_550", "ramp_200_450", "ramp_300_600", "rested_170_340_510_300",
    "rested_230_470", "rested_330_560", "warm_400_220_520",
)  # fmt: skip


def stop_of(path: Path, profile: str | None = None) -> tuple[Stops | None, Ends]:
    """The first stop, if any, and the end."""
    settings: Guards | None = None if profile is None else load_profile(profile).profile.guards
    with path.open(encoding="utf-8", newline="") as stream:
        case = case_of_recording(open_recording(str(path), stream), settings, profile or "")
        results = list(Judging(case).results())
    stops = [r for r in results if isinstance(r, Stops)]
    assert len(stops) <= 1
    assert not any(isinstance(r, Skipped | GoesOn) for r in results)
    end = results[-1]
    assert isinstance(end, Ends)
    assert end.stopped_at_s == (stops[0].time_s if stops else None)
    return (stops[0] if stops else None), end


@pytest.mark.parametrize("name", QUIET)
@pytest.mark.parametrize("profile", [None, "desktop_air", "passive_compute"])
def test_a_sound_ramp_is_let_alone_by_the_defaults_and_by_a_profile(
    data: Path, name: str, profile: str | None
) -> None:
    stop, end = stop_of(data / "held_power" / f"{name}.csv", profile)
    assert stop is None
    assert end.samples_count > 500
    assert end.cooling is not None
    assert end.cooling.state == Cooling.HEALTHY_AIR


@pytest.mark.parametrize("profile", [None, "desktop_air", "passive_compute", "link_soak"])
def test_a_switched_load_of_a_sound_card_is_let_alone(data: Path, profile: str | None) -> None:
    """Also by a profile for a card with fans, which this one has not."""
    stop, end = stop_of(data / "load_steps.csv", profile)
    assert stop is None
    assert (end.cooling is None) == (profile == "link_soak")  # no forecast is asked for there


@pytest.mark.parametrize("name", RECORDS)
def test_no_guard_of_its_own_profile_stops_a_record(data: Path, name: str) -> None:
    record = read_record(data / "records" / name)
    [end] = judge_samples(record)
    assert isinstance(end, Ends)
    assert end.profile == record.run.profile.name
    assert end.samples_count == len(list(record.samples())) > 500
    assert (end.cooling is not None) == bool(record.run.guards.get("forecast"))


def strict(limit_c: float) -> LoadedProfile:
    """The desktop profile with another limit."""
    loaded = load_profile("desktop_air")
    guards = loaded.profile.guards.model_copy(update={"gpu_temp_limit_c": limit_c})
    profile = loaded.profile.model_copy(update={"guards": guards})
    return LoadedProfile("strict", loaded.file, loaded.text, loaded.sha256, profile)


def test_another_profile_gives_its_limits_and_the_record_what_it_knows(data: Path) -> None:
    record = read_record(data / "records" / "compute_card_cuda")
    case = case_of_record(record, strict(62.0))
    assert case.settings.cooling == "fans"
    assert case.facts.cooled_by is CooledBy.STREAM
    assert case.facts.hotspot_seen is False
    told = Judging(case).guards.settings()
    assert told["forecast"]["cooling"] == "stream"
    assert told["gpu_limit"]["gpu_temp_limit_c"] == 62.0
    stop, end = judge_samples(record, strict(62.0))
    assert isinstance(stop, Stops)
    assert isinstance(end, Ends)
    assert stop.stage.startswith("3-")
    assert end.stopped_at_s == stop.time_s
    assert end.profile == "strict"
    assert "cooling" not in told["gpu_limit"]


def copied(data: Path, folder: Path, **changed: object) -> Path:
    """A record with some keys of run.json set anew."""
    target = folder / "record"
    shutil.copytree(data / "records" / "compute_card_vulkan", target)
    file = target / "run.json"
    content = json.loads(file.read_text(encoding="utf-8"))
    content.update(changed)
    file.write_text(json.dumps(content), encoding="utf-8")
    return target


def test_settings_that_cannot_be_used_are_told_and_a_profile_takes_their_place(
    data: Path, tmp_path: Path
) -> None:
    record = read_record(copied(data, tmp_path, guards={"gpu_temp_limit_c": 4000.0}))
    with refused(RecordError, match="name a profile"):
        judge_samples(record)


def plans(case: Case) -> list[tuple[float, bool, float | None]]:
    return [(p.elapsed_s, p.plan is not None, p.ends_s) for p in case.planned]


def test_what_the_run_had_planned_is_followed_and_a_torn_line_is_passed_over(
    data: Path, tmp_path: Path
) -> None:
    folder = copied(data, tmp_path)
    lines = [
        '{"stage": "x", "steps": [[1.0, 150.0], [9.0, 300.0]], "end_s": 20.0, "why": ""}',
        '{"stage": "x", "steps": [], "end_s": 40.0, "why": ""}',
        '{"stage": "x", "steps": [[9.0, 1.0], [2.0, 3.0]], "end_s": 40.0, "why": ""}',
        '{"stage": "x", "steps": [], "end_s": 0.0, "why": ""}',
    ]
    with (folder / "journal.csv").open("a", encoding="utf-8") as journal:
        for number, detail in enumerate(lines, start=1):
            quoted = detail.replace('"', '""')
            journal.write(f'{number}.0,2026-01-01T00:00:00.000Z,LoadPlanned,x,"{quoted}"\n')
    found = plans(case_of_record(read_record(folder)))
    assert found[-3:] == [(1.0, True, None), (2.0, False, 40.0), (4.0, False, None)]


def test_a_stop_names_reason_suspect_and_check_as_meanings() -> None:
    case = case_of_recording(open_recording("dry.csv", io.StringIO(text_of(DRY, 90.0))))
    stop = next(r for r in Judging(case).results() if isinstance(r, Stops))
    trip: Trip = stop.trip
    cooling = trip.reason["cooling"]
    assert isinstance(cooling, tuple)
    assert CoolingTerm.NO_COOLANT() in cooling
    assert trip.reason["limit_c"] == 90.0
    assert trip.probability == pytest.approx(1.0, abs=0.1)
