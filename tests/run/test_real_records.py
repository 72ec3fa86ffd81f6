"""Records of real compute cards (80 and 141 GB, generation 5, 16 lanes), read back and judged anew.

`compute_card_cuda`: profile passive_compute, CUDA engine, six and a half minutes.
`compute_card_link_errors`: the same on another day; the card's own counters saw damaged packets in
four minutes of two-way traffic. `compute_card_vulkan`: the same stages shortened, Vulkan engine.
`compute_card_whole`: the profile whole, another card, newer rules: watched to its end.
Serial numbers, addresses of the bench and its name are replaced, and checks made anew over that.
"""

from __future__ import annotations

import io
import json
import shutil
from pathlib import Path

import pytest

from burnin.cli.replay_lines import replay
from burnin.core.reading import NotMeasured, Verdict, known
from burnin.core.verdict import RunVerdict, StageVerdict
from burnin.record.reader import Record, read_record
from burnin.replay.verdicts import judge_anew
from burnin.report.make import make_sheet
from burnin.stages.counters import errors_by_direction
from burnin.stages.link.error_rate import Direction
from burnin.stages.link.sums import Traffic

RECORDS = (
    "compute_card_cuda",
    "compute_card_link_errors",
    "compute_card_vulkan",
    "compute_card_whole",
)


OTHERWISE_TODAY = {
    "compute_card_cuda": {
        # ten counted, three events, where 1e-12 a bit gives fifteen
        ("3-link", "new_link_errors", Verdict.UNSURE, Verdict.PASS),
        # it fell by 2.6 K in its last minute: what falls is at rest
        ("6-thermal_ramp", "drift_k", Verdict.UNSURE, Verdict.PASS),
    },
    # eleven counted, three events, where 1e-12 a bit gives 171
    "compute_card_link_errors": {("7-link", "new_link_errors", Verdict.FAIL, Verdict.PASS)},
}
"""Readings of older records that are judged otherwise today, and as what."""
VERDICT_TODAY = {
    "compute_card_cuda": RunVerdict.PASS,
    # its fit headed for 21 °C from 71 °C, so that no thermal resistance was told
    "compute_card_link_errors": RunVerdict.CONDITIONAL,
}


@pytest.fixture(params=RECORDS)
def record(request: pytest.FixtureRequest, data: Path) -> Record:
    return read_record(data / "records" / str(request.param))


@pytest.mark.long
def test_no_guard_of_its_profile_would_have_stopped_it(record: Record) -> None:
    out = io.StringIO()
    assert replay([str(record.folder)], None, True, out) == 0
    [end] = [json.loads(line) for line in out.getvalue().splitlines()]
    assert end["action"] == "end"
    assert end["samples"] > 300


def test_every_reading_and_the_verdict_follow_from_the_values_as_they_did(record: Record) -> None:
    judged = judge_anew(record)
    now_otherwise = {
        (now.stage, now.name, was.verdict, now.verdict) for was, now in judged.changed
    }
    assert now_otherwise == OTHERWISE_TODAY.get(record.folder.name, set())
    assert len(judged.readings) > 30
    if now_otherwise:
        assert judged.verdict is VERDICT_TODAY[record.folder.name]
        return
    assert judged.verdict is record.run.verdict
    assert [s.verdict for s in judged.stages] == [s.verdict for s in record.run.stages]


def test_every_stage_that_the_hardware_allows_was_measured(record: Record) -> None:
    came_to_its_end = (StageVerdict.PASS, StageVerdict.CONDITIONAL, StageVerdict.FAIL)
    assert record.run.stages
    assert all(s.verdict in came_to_its_end for s in record.run.stages)
    rows = {r.name: r for r in record.readings}
    assert rows["outputs_found"].value == 0.0
    assert rows["engine_works_this_card"].verdict is Verdict.PASS
    tested = rows["share_of_free_tested"].value
    assert isinstance(tested, float)
    assert tested > 0.969
    assert rows["failing_words"].value == 0.0
    missing = [r for r in rows.values() if r.verdict is Verdict.NOT_MEASURED]
    assert missing
    assert all(r.reason for r in missing)


def test_samples_come_back_as_they_were_taken(record: Record) -> None:
    samples = list(record.samples())
    temps = [known(s.telemetry.gpu_temp_c) for s in samples]
    assert temps
    assert all(t is not None and 20 < t < 80 for t in temps)
    times = [s.elapsed_s for s in samples]
    assert times == sorted(times)
    assert known(samples[0].telemetry.hotspot_temp_c) is None


@pytest.mark.long
def test_a_sheet_can_be_made_of_it(record: Record, tmp_path: Path) -> None:
    folder = tmp_path / "record"
    shutil.copytree(record.folder, folder)
    paths = make_sheet(folder)
    assert paths["pdf"].read_bytes().startswith(b"%PDF")
    assert "SIMULATED" not in paths["html"].read_text()


def test_a_few_damaged_packets_are_neither_a_fault_nor_soundness(data: Path) -> None:
    """Four minutes at 44.6 GB/s each way: three or four errors on their way to the card, none back.

    One error in 10^12 bits on each lane, which the base specification allows, would be 86 each way.
    """
    record = read_record(data / "records" / "compute_card_link_errors")
    sums = Traffic.from_event(record.traffic["7-link"])
    errors = errors_by_direction(sums.errors)
    to_card, to_host = errors["to_card"], errors["to_host"]
    assert not isinstance(to_card, NotMeasured)
    assert not isinstance(to_host, NotMeasured)
    assert (to_card.at_least, to_card.at_most) == (3, 4)
    assert (to_host.at_least, to_host.at_most) == (0, 0)
    way = sums.direction("to_card", 16)
    assert isinstance(way, Direction)
    assert not way.shown(1e-12)
    assert not way.refuted(1e-12)
    back = sums.direction("to_host", 16)
    assert isinstance(back, Direction)
    assert back.shown(1e-12)


def test_the_link_ran_at_full_speed_and_width_all_the_while(data: Path) -> None:
    samples = list(read_record(data / "records" / "compute_card_cuda").samples())
    assert {known(s.telemetry.link_speed_gts) for s in samples} == {32.0}
    assert {known(s.telemetry.link_width_lanes) for s in samples} == {16}


def test_the_link_is_shown_each_way_and_the_whole_is_conditional(data: Path) -> None:
    """Both ways at once at the bound of 1e-12 a lane; what is unsure is named, the rest passed."""
    record = read_record(data / "records" / "compute_card_cuda")
    rows = {(r.stage, r.name): r for r in record.readings}
    for way in ("to_card", "to_host"):
        row = rows["7-link", f"error_rate_per_lane {way}"]
        assert row.verdict is Verdict.PASS
        assert isinstance(row.value, float)
        assert row.value < 1e-12
    assert record.run.verdict is RunVerdict.CONDITIONAL
    unsure = {r.name for r in rows.values() if r.verdict is Verdict.UNSURE}
    assert unsure == {"new_link_errors", "drift_k"}
    assert not [r for r in rows.values() if r.verdict is Verdict.FAIL]


def test_a_sound_card_in_a_sound_slot_passes_with_nothing_owed(data: Path) -> None:
    record = read_record(data / "records" / "compute_card_whole")
    assert record.run.verdict is RunVerdict.PASS
    assert record.run.owed == ()
    assert record.run.stages[-1].stage == "whole_run"
    rows = {(r.stage, r.name): r for r in record.readings}
    for way in ("to_card", "to_host"):
        bound = rows["7-link", f"error_rate_per_lane {way}"].value
        assert isinstance(bound, float)
        assert bound < 1e-12
    assert rows["whole_run", "whole_run_kernel_log"].verdict is Verdict.PASS
    assert judge_anew(record).disagreements == ()
