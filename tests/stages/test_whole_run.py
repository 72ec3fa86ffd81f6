"""The watch over a whole run: what was shown must hold in every later sample."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

import pytest

from burnin.card.capabilities import Counter
from burnin.core.events import TrafficSummed
from burnin.core.meaning import Meaning, Value
from burnin.core.reading import NotMeasured, Reading, ReadingReason, Verdict
from burnin.core.sample import Sample, Slowdown, Telemetry
from burnin.record.reader import read_record
from burnin.stages.link.meanings import LinkNote, LinkSource
from burnin.stages.whole_run.closing_readings import closing_readings
from burnin.stages.whole_run.error_watch import ErrorWatch
from burnin.stages.whole_run.meanings import WholeRunReason, WholeRunTerm
from burnin.stages.whole_run.observed import Observed
from burnin.stages.whole_run.of_record import closing_readings_of
from burnin.stages.whole_run.watch import RunWatch

STEP_S = 0.1
GOOD = Telemetry(
    gpu_temp_c=60.0,
    power_w=300.0,
    core_clock_mhz=2500.0,
    busy_pct=99.0,
    link_speed_gts=16.0,
    link_width_lanes=16.0,
    throttle_reasons=(),
)
TITLES: dict[str, Value] = {"1-link": "Link", "2-thermal_ramp": "Heat"}


def stretch(
    begin_s: float,
    seconds: float,
    telemetry: Telemetry = GOOD,
    *,
    share: float = 1.0,
    stage: str = "2-thermal_ramp",
    present: bool = True,
) -> list[Sample]:
    count = round(seconds / STEP_S)
    return [
        Sample(begin_s + n * STEP_S, "", stage, telemetry, share, present=present)
        for n in range(count)
    ]


def judged(samples: Iterable[Sample], ended_at_s: float | None = None) -> dict[str, Reading]:
    watch = RunWatch()
    for sample in samples:
        watch.add(sample)
    return {r.name: r for r in closing_readings(watch, TITLES, ended_at_s)}


def number_of(meaning: Meaning, name: str) -> float:
    value = meaning[name]
    assert isinstance(value, int | float)
    return value


def reason_of(reading: Reading) -> Meaning:
    assert reading.reason is not None
    return reading.reason


def test_a_sound_run_holds_what_it_showed() -> None:
    found = judged(stretch(0.0, 30.0))
    assert {r.verdict for r in found.values()} == {Verdict.PASS}
    assert found["whole_run_width_lanes"].value == 16.0


def test_width_lost_for_two_seconds_is_found_with_moment_span_load_and_temperature() -> None:
    narrow = replace(GOOD, link_width_lanes=8.0, gpu_temp_c=71.0)
    found = judged([*stretch(0.0, 10.0), *stretch(10.0, 2.0, narrow), *stretch(12.0, 10.0)])
    reading = found["whole_run_width_lanes"]
    assert reading.verdict is Verdict.FAIL
    why = reason_of(reading)
    assert why.means(WholeRunReason.WIDTH_FELL)
    assert (why["lanes"], why["shown_lanes"], why["stage"]) == (8.0, 16.0, "Heat")
    assert number_of(why, "at_s") == pytest.approx(10.0)
    assert number_of(why, "for_s") == pytest.approx(2.0)
    told = {part.code: part for part in why.parts()}
    assert told[WholeRunTerm.LOAD.value]["load_pct"] == 100.0
    assert told[WholeRunTerm.POWER.value]["power_w"] == 300.0
    assert told[WholeRunTerm.TEMPERATURE.value]["gpu_temp_c"] == 71.0
    assert told[WholeRunTerm.ONLY_WARMER.value]["gpu_temp_c"] == 71.0


@pytest.mark.parametrize("stage", ["1-link", "3-memory", "4-compute", "2-thermal_ramp"])
def test_width_lost_in_any_stage_is_found_and_at_rest_too(stage: str) -> None:
    narrow = replace(GOOD, link_width_lanes=8.0)
    for share in (0.0, 1.0):
        lost = stretch(10.0, 2.0, narrow, share=share, stage=stage)
        found = judged([*stretch(0.0, 10.0), *lost, *stretch(12.0, 3.0)])
        assert found["whole_run_width_lanes"].verdict is Verdict.FAIL


def test_one_single_sample_leaves_it_unsure() -> None:
    narrow = replace(GOOD, link_width_lanes=8.0)
    found = judged([*stretch(0.0, 10.0), *stretch(10.0, STEP_S, narrow), *stretch(10.1, 5.0)])
    reading = found["whole_run_width_lanes"]
    assert reading.verdict is Verdict.UNSURE
    assert reason_of(reading).means(WholeRunReason.ONE_SAMPLE)


def test_a_lane_away_before_the_link_was_looked_at_is_found() -> None:
    narrow = replace(GOOD, link_width_lanes=8.0)
    found = judged([*stretch(0.0, 10.0, narrow), *stretch(10.0, 10.0)])
    assert found["whole_run_width_lanes"].verdict is Verdict.FAIL


def test_all_ones_of_a_card_that_is_going_is_no_width() -> None:
    gone = replace(GOOD, link_width_lanes=63.0)
    found = judged([*stretch(0.0, 10.0), *stretch(10.0, 0.3, gone)])
    assert found["whole_run_width_lanes"].verdict is Verdict.PASS


def test_speed_is_judged_under_work_alone() -> None:
    idle = replace(GOOD, link_speed_gts=2.5, busy_pct=0.0)
    slow = replace(GOOD, link_speed_gts=8.0)
    resting = [
        *stretch(0.0, 5.0, idle, share=0.0),
        *stretch(5.0, 10.0),
        *stretch(15.0, 5.0, idle, share=0.0),
    ]
    assert judged(resting)["whole_run_speed_gts"].verdict is Verdict.PASS
    found = judged([*resting, *stretch(20.0, 5.0), *stretch(25.0, 2.0, slow)])
    assert found["whole_run_speed_gts"].verdict is Verdict.FAIL
    assert found["whole_run_speed_gts"].value == 8.0


def test_an_engine_that_takes_seconds_to_begin_and_one_that_has_ended_are_no_fall() -> None:
    """Compiling takes seconds in which the link still sleeps; so does a comparison afterwards."""
    asleep = replace(GOOD, link_speed_gts=2.5, busy_pct=NotMeasured(ReadingReason.NOT_READ()))
    done = replace(GOOD, link_speed_gts=2.5, busy_pct=5.0)
    begins = stretch(20.0, 6.0, asleep, stage="4-compute")
    works = stretch(26.0, 6.0, stage="4-compute")
    ends = stretch(32.0, 6.0, done, stage="4-compute")
    found = judged([*stretch(0.0, 10.0), *begins, *works, *ends])
    assert found["whole_run_speed_gts"].verdict is Verdict.PASS


def test_a_stage_that_never_reaches_the_speed_is_found() -> None:
    slow = replace(GOOD, link_speed_gts=8.0)
    found = judged([*stretch(0.0, 10.0, stage="1-link"), *stretch(10.0, 30.0, slow)])
    assert found["whole_run_speed_gts"].verdict is Verdict.FAIL


def test_a_driver_that_tells_nothing_any_more_has_no_link_to_judge() -> None:
    unread = NotMeasured(ReadingReason.NOT_READ())
    hung = replace(GOOD, link_speed_gts=2.5, gpu_temp_c=unread, power_w=unread, busy_pct=unread)
    found = judged([*stretch(0.0, 10.0), *stretch(10.0, 4.0, hung)])
    assert found["whole_run_speed_gts"].verdict is Verdict.PASS


def test_a_card_that_is_away_in_one_sample_fails() -> None:
    away = stretch(10.0, STEP_S, present=False)
    found = judged([*stretch(0.0, 10.0), *away, *stretch(10.1, 5.0)])
    assert found["whole_run_samples_gone"].verdict is Verdict.FAIL


def test_what_ended_the_load_is_not_told_again() -> None:
    hot = replace(GOOD, throttle_reasons=(Slowdown.HEAT,))
    samples = [*stretch(0.0, 10.0), *stretch(10.0, 0.5, hot), *stretch(10.5, 3.0, present=False)]
    found = judged(samples, ended_at_s=10.1)
    assert found["whole_run_samples_gone"].verdict is Verdict.PASS
    assert found["whole_run_slowed_samples"].verdict is Verdict.PASS
    assert judged(samples)["whole_run_samples_gone"].verdict is Verdict.FAIL
    assert judged(samples)["whole_run_slowed_samples"].verdict is Verdict.FAIL


def test_a_new_slow_down_by_hardware_is_a_breach_and_a_power_limit_is_none() -> None:
    for slowdown, verdict in (
        (Slowdown.HARDWARE, Verdict.FAIL),
        (Slowdown.HEAT, Verdict.FAIL),
        (Slowdown.POWER_LIMIT, Verdict.PASS),
        (Slowdown.CLOCKS_SET, Verdict.PASS),
    ):
        slowed = replace(GOOD, throttle_reasons=(slowdown,))
        found = judged([*stretch(0.0, 10.0), *stretch(10.0, 1.0, slowed)])
        assert found["whole_run_slowed_samples"].verdict is verdict, slowdown


def test_clocks_that_fall_without_a_reason_are_a_breach() -> None:
    fallen = replace(GOOD, core_clock_mhz=1250.0)
    limited = replace(fallen, throttle_reasons=(Slowdown.POWER_LIMIT,))
    assert judged([*stretch(0.0, 15.0), *stretch(15.0, 15.0, fallen)])[
        "whole_run_clock_share"
    ].verdict is Verdict.FAIL
    assert judged([*stretch(0.0, 15.0), *stretch(15.0, 15.0, limited)])[
        "whole_run_clock_share"
    ].verdict is not Verdict.FAIL


def test_width_that_is_not_told_any_more_is_not_a_pass() -> None:
    unread = replace(GOOD, link_width_lanes=NotMeasured(ReadingReason.NOT_READ()))
    reading = judged([*stretch(0.0, 10.0), *stretch(10.0, 30.0, unread)])["whole_run_width_lanes"]
    assert reading.verdict is Verdict.NOT_MEASURED
    assert reading.required


@pytest.mark.parametrize(
    "name", ["compute_card_cuda", "compute_card_link_errors", "compute_card_vulkan"]
)
def test_no_real_record_breaks_what_it_showed(name: str, data: Path) -> None:
    record = read_record(data / "records" / name)
    found = closing_readings_of(record)
    assert len(found) == 6
    assert not [r for r in found if r.verdict in (Verdict.FAIL, Verdict.UNSURE)]


# ---- errors


def counters(packets: int) -> tuple[Counter, ...]:
    """Damaged packets that the card saw; its port saw none."""
    source = LinkSource.LANE_STATUS()
    name = "bad TLP (correctable)"
    return tuple(
        Counter(name, end, value, modulus=None, source=source)
        for end, value in (("card", packets), ("port", 0))
    )


def errors(
    counts: Iterable[int], traffic: Iterable[tuple[str, int, int]] = ()
) -> dict[str, Reading]:
    """Readings after looks at counters; `traffic` as (stage, bytes each way, errors)."""
    watch, run = ErrorWatch(), RunWatch()
    for sample in stretch(0.0, 60.0):
        run.add(sample)
    for count in counts:
        watch.look(counters(count))
    for stage, moved, seen in traffic:
        told = {"card bad TLP (correctable)": seen, "port bad TLP (correctable)": 0}
        watch.moved(TrafficSummed(stage, 3.0, moved, moved, 0, told, {}))
    return {r.name: r for r in watch.readings(run)}


def test_errors_beside_the_link_checks_pass_where_none_open_where_few_and_fail_where_many() -> None:
    name = "whole_run_errors_beside_traffic"
    assert errors((7, 7, 7))[name].verdict is Verdict.PASS
    assert errors((7, 7, 13))[name].verdict is Verdict.UNSURE
    assert errors((7, 7, 4000))[name].verdict is Verdict.FAIL


def test_a_counter_that_restarted_leaves_no_zero() -> None:
    reading = errors((9, 9, 2))["whole_run_errors_beside_traffic"]
    assert reading.verdict is Verdict.NOT_MEASURED
    assert reading.required


def _unmended(*values: int) -> Reading:
    """The reading of errors that nobody mends, after looks at their counter at the card."""
    source, watch, run = LinkSource.LANE_STATUS(), ErrorWatch(), RunWatch()
    for sample in stretch(0.0, 60.0):
        run.add(sample)
    for value in values:
        name = "poisoned TLP (non-fatal)"
        watch.look((Counter(name, "card", value, modulus=None, source=source),))
    return {r.name: r for r in watch.readings(run)}["whole_run_uncorrected_errors"]


def test_one_error_that_nobody_mends_fails_wherever_it_came() -> None:
    assert _unmended(4, 4).verdict is Verdict.PASS
    failed = _unmended(4, 5)
    assert (failed.value, failed.verdict) == (1.0, Verdict.FAIL)


def test_its_counter_that_began_anew_leaves_no_zero() -> None:
    lost = _unmended(4, 4, 0)
    assert lost.verdict is Verdict.NOT_MEASURED
    assert not lost.required


def test_link_stages_are_judged_together() -> None:
    """Three errors in each of three stages, where each alone proves nothing."""
    moved = 150_000_000_000
    alone = errors((0, 3), [("1-link", moved, 3)])
    assert alone["whole_run_errors_in_traffic"].verdict is Verdict.PASS
    assert alone["whole_run_errors_beside_traffic"].verdict is Verdict.PASS
    stages = [(f"{n}-link", moved, 3) for n in (1, 2, 3)]
    together = errors((0, 3, 6, 9), stages)
    assert together["whole_run_errors_in_traffic"].verdict is Verdict.FAIL


def test_work_in_a_stage_without_a_name_is_watched_like_any_other() -> None:
    """An edited or damaged row may hold none; found by fuzzing records."""
    nameless, named = judged(stretch(0.0, 60.0, stage="")), judged(stretch(0.0, 60.0))
    assert {n: r.verdict for n, r in nameless.items()} == {n: r.verdict for n, r in named.items()}


@pytest.mark.parametrize("end", [{"lane_errors_before": []}, {"target_speed_gts": "x"}, {}])
def test_a_note_of_both_ends_that_lacks_what_it_should_tell_is_read(end: dict[str, object]) -> None:
    told = {"code": LinkNote.END.value, **end}
    note = Meaning.from_plain({"code": LinkNote.BOTH_ENDS.value, "card": told, "port": told})
    observed = Observed()
    observed.note(note)
    assert observed.seen(None).link.lanes == {}
