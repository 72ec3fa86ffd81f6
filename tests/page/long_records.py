"""A long run's record through the real writer: hours of samples, forecasts and counters.

The card is a hand-drawn one: its die follows its power with one time constant. Half an hour of load
and ten minutes of rest take turns. After three tenths of the time the die reads 97 °C for one
sample, and one error is counted.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

from burnin.core.clock import iso
from burnin.core.events import (
    CounterAt,
    CountersRead,
    Event,
    ForecastMade,
    ReadingTaken,
    RunFinished,
    RunStarted,
    SampleTaken,
    StageFinished,
    StageStarted,
)
from burnin.core.foreseen import Foreseen
from burnin.core.meaning import Reason
from burnin.core.opening import ProfileOpened
from burnin.core.reading import Limit, NotMeasured, judge, of_stage
from burnin.core.sample import Sample, Telemetry
from burnin.core.verdict import Ended, RunVerdict, StageVerdict, VerdictReason
from burnin.record.sums import sha256, write_checksums
from burnin.record.writer import RecordWriter
from burnin.stages.whole_run.observed import LINK_ERRORS
from tests.record import streams

PROFILE = b"""format = 1
title = "A long soak"
[guards]
gpu_temp_limit_c = 90.0
[[stages]]
stage = "enumeration"
[[stages]]
stage = "thermal_ramp"
cool_down_s = 60.0
[[stages.steps]]
power_w = 280.0
hold_s = 3600.0
"""
TITLE = "A long soak"
FIRST, SECOND = "1-enumeration", "2-thermal_ramp"
PEAK_AT, PEAK_C = 0.3, 97.0
FORECAST_EVERY_S, COUNTERS_EVERY_S = 1.0, 10.0


def write_long(
    folder: Path,
    hours: float = 8.0,
    rate_hz: float = 20.0,
    *,
    ended: bool = True,
    fails: bool = True,
) -> Path:
    """The record of a run of so many hours.

    `ended` False: a run that was cut off in its soak. `fails`: a reading fails at its begin.
    """
    clock = streams.HandClock()
    writer = RecordWriter(folder, clock, 0.0, simulated=True)
    end_s, every_s = hours * 3600.0, 1.0 / rate_hz
    for at_s, event in _events(folder.name, end_s, every_s, ended=ended, fails=fails):
        clock.elapsed_s = at_s
        writer(event)
    writer.close()
    if ended:
        write_checksums(folder)
    return folder


def _events(
    run_id: str, end_s: float, every_s: float, *, ended: bool, fails: bool
) -> Iterator[tuple[float, Event]]:
    opened = replace(
        streams.opening(run_id),
        profile=ProfileOpened("soak", TITLE, "soak.toml", sha256(PROFILE), PROFILE.decode()),
    )
    yield 0.0, RunStarted(run_id, iso(streams.STARTED), opened, (FIRST, SECOND))
    yield 0.1, StageStarted(FIRST, "enumeration", "", 4.0)
    found = judge(
        "revision", 7.0 if fails else 2.0, "", Limit(1.0, 3.0), why_fail=streams.WhyReason.NO_LAMP()
    )
    yield 0.2, ReadingTaken(of_stage(found, FIRST))
    verdict = StageVerdict.FAIL if fails else StageVerdict.PASS
    yield 0.5, StageFinished(FIRST, "enumeration", verdict)
    yield 0.6, StageStarted(SECOND, "thermal_ramp", "", end_s)
    temp_c, told_s, counted_s, n = 31.0, 1.0, 1.0, 0
    while (at_s := 1.0 + n * every_s) < end_s:
        power_w = 280.0 if at_s % 2400.0 < 1800.0 else 40.0
        temp_c += (30.0 + 0.18 * power_w - temp_c) * every_s / 120.0
        shown_c = PEAK_C if abs(at_s - PEAK_AT * end_s) <= every_s / 2 else round(temp_c)
        yield at_s, SampleTaken(_sample(at_s, shown_c, power_w + 3.0 * math.sin(n), power_w))
        if at_s >= told_s:
            told_s += FORECAST_EVERY_S
            band = tuple(
                Foreseen(ahead_s, temp_c + 1.0, temp_c - 1.0, temp_c + 3.0)
                for ahead_s in (5.0, 10.0, 20.0, 30.0, 60.0)
            )
            note = streams.SomeNote.LAMP_ON(light_lx=at_s)
            yield at_s, ForecastMade("forecast", "gpu_temp_c", 90.0, None, note, band)
        if at_s >= counted_s:
            counted_s += COUNTERS_EVERY_S
            errors = CounterAt("card", "bad TLP", 3 + int(at_s > PEAK_AT * end_s), None)
            yield at_s, CountersRead(SECOND, LINK_ERRORS, (errors,))
        n += 1
    if ended:
        why: Reason = VerdictReason.STAGES_FAILED(stages=(streams.WhyReason.NO_LAMP(),))
        if not fails:
            why = VerdictReason.ALL_STAGES_PASSED(stages_count=2)
        yield end_s, StageFinished(SECOND, "thermal_ramp", StageVerdict.PASS)
        moment = iso(streams.STARTED + timedelta(seconds=end_s))
        word = RunVerdict.FAIL if fails else RunVerdict.PASS
        yield end_s, RunFinished(moment, word, why, Ended.DONE, ())


def _sample(at_s: float, temp_c: float, power_w: float, load_w: float) -> Sample:
    telemetry = Telemetry(
        gpu_temp_c=float(temp_c),
        hotspot_temp_c=temp_c + 11.5,
        memory_temp_c=NotMeasured(streams.WhyReason.NO_LAMP()),
        power_w=round(power_w, 3),
        energy_j=round(at_s * 220.0, 1),
        core_clock_mhz=2400.0,
        memory_clock_mhz=10_000.0,
        busy_pct=99.0,
        fan_rpm=1800.0,
        fan_pct=60.0,
        link_speed_gts=16.0,
        link_width_lanes=16.0,
        throttle_reasons=(),
    )
    stamp = iso(streams.STARTED + timedelta(seconds=at_s))
    loaded = load_w > 100.0
    return Sample(
        at_s, stamp, SECOND, telemetry, 1.0 if loaded else 0.0, load_w if loaded else None,
        0.0014, True, 0.05, 0.0003,
    )  # fmt: skip
