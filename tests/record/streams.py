"""A run's events made by hand, one of every class and more, and records written from them."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

from burnin.core.events import (
    Asked,
    Event,
    ForecastMade,
    GuardTripped,
    LoadPlanned,
    Noted,
    Promised,
    ReadingTaken,
    RunFinished,
    RunStarted,
    SampleTaken,
    StageFinished,
    StageProgress,
    StageStarted,
    TrafficSummed,
    WarningGiven,
    WarningOver,
)
from burnin.core.identity import Bar, Identity, TemperatureLimits
from burnin.core.meaning import (
    CauseCode,
    CheckCode,
    NoteCode,
    PromptCode,
    ReasonCode,
    SourceCode,
)
from burnin.core.opening import EngineDescription, Opening, ProfileOpened
from burnin.core.reading import (
    Limit,
    NotMeasured,
    Reading,
    judge,
    judge_text,
    not_measured,
    of_stage,
)
from burnin.core.sample import Resolution, Sample, Slowdown, Telemetry
from burnin.core.ticket_header import Ticket
from burnin.core.verdict import Ended, OwedWhat, OwedWork, RunVerdict, StageVerdict, VerdictReason
from burnin.record.sums import sha256, write_checksums
from burnin.record.writer import RecordWriter

STARTED = datetime(2026, 3, 2, 9, 15, tzinfo=UTC)
RUN_ID = "20260302T091500Z-1a2b"
PROFILE = b"format = 1\n"


class WhyReason(ReasonCode):
    NO_LAMP = "test_no_lamp"
    TOO_DIM = "test_too_dim", "light_lx", "parts"


class SomeNote(NoteCode):
    LAMP_ON = "test_lamp_on", "light_lx"


class SomeSource(SourceCode):
    METER = "test_meter", "name"


class SomeCause(CauseCode):
    DUST = "test_dust"


class SomeCheck(CheckCode):
    WIPE = "test_wipe"


class SomePrompt(PromptCode):
    LOOK = "test_look", "output"


@dataclass
class HandClock:
    """Stands still until it is moved."""

    elapsed_s: float = 0.0
    moves_s: float = field(default=0.05)

    def monotonic_s(self) -> float:
        return self.elapsed_s

    def utc(self) -> datetime:
        return STARTED + timedelta(seconds=self.elapsed_s)

    def sleep_s(self, seconds: float) -> None:
        self.elapsed_s += seconds


def opening(run_id: str = RUN_ID, resumed: int = 0) -> Opening:
    untold = NotMeasured(WhyReason.NO_LAMP())
    return Opening(
        run_id=run_id,
        started_utc="2026-03-02T09:15:00.000Z",
        folder="results/T-1/x",
        tool={"burnin": "0.1.0", "python": "3.11.2"},
        options={"simulated": "healthy", "seed": 3, "pace": 0.5},
        profile=ProfileOpened("short", "Short", "short.toml", sha256(PROFILE), PROFILE.decode()),
        guards={"gpu_temp_limit_c": 90.0, "power_limit_w": None},
        ticket=Ticket("T-1", "Ottilie Maro", "Strata 9", "J. Wren", "Wrenfield Board Repair"),
        engine=EngineDescription("simulated", "adapter", "", SomeNote.LAMP_ON(light_lx=5.0)),
        card=Identity(
            address="0000:01:00.0",
            vendor_id=0xF5A7,
            device_id=9,
            subsystem_vendor_id=0xF5A7,
            subsystem_id=untold,
            revision=161,
            class_code=0x030000,
            name="Corvane Strata 9",
            vendor_name=untold,
            driver="strata",
            driver_version="6.1.0",
            firmware_version="94.02.71",
            memory_bytes=24 << 30,
            serial=untold,
            uuid=untold,
            bars=(Bar(0, 1 << 28, True), Bar(1, 1 << 34, True)),
            simulated=True,
        ),
        bench={"kernel": "6.18", "board": untold},
        temperature_limits=TemperatureLimits(89.0, 95.0, untold),
        sensor_steps=Resolution(1.0, 0.001, 0.1, {"temp_c": SomeSource.METER(name="t")}),
        sources={"gpu_temp_c": SomeSource.METER(name="gpu")},
        simulated_scenario="healthy",
        simulated_seed=3,
        resumed=resumed,
    )


def sample(elapsed_s: float, stage: str, *, hotspot: bool = False, gone: bool = False) -> Sample:
    telemetry = Telemetry(
        gpu_temp_c=41.0,
        hotspot_temp_c=55.5 if hotspot else NotMeasured(WhyReason.NO_LAMP()),
        memory_temp_c=NotMeasured(WhyReason.TOO_DIM(light_lx=2.5, parts=("a", "b"))),
        power_w=287.4123456789012,
        throttle_reasons=(Slowdown.HEAT, Slowdown.POWER_LIMIT) if hotspot else (),
    )
    stamp = (STARTED + timedelta(seconds=elapsed_s)).strftime("%Y-%m-%dT%H:%M:%S.%f")[:-3] + "Z"
    return Sample(elapsed_s, stamp, stage, telemetry, 0.5, 300.0, 0.0014, present=not gone)


def readings(stage: str) -> tuple[Reading, ...]:
    meter = SomeSource.METER(name="probe")
    dim = WhyReason.TOO_DIM(light_lx=20.0, parts=(WhyReason.NO_LAMP(), 1, None))
    found = (
        judge("light_lx", 20.123456789012345, "lx", Limit(50.0, None), why_fail=dim, source=meter),
        judge("lamps", 3, "", Limit(0.0, 3.0), uncertainty=0.0),
        judge("heat_k", 2.9, "K", Limit(-3.0, 3.0), uncertainty=0.58),
        judge("colour", 7, "", None),
        judge_text("name", "0x10de", ("0x10de", "0x1002"), source=meter),
        judge_text("words", 'said "no, never"; 1 | 2', None),
        not_measured("power_w", "W", WhyReason.NO_LAMP(), limit=Limit(upper=450.0), required=False),
    )
    return tuple(of_stage(reading, stage) for reading in found)


def stream() -> list[Event]:
    """Every class of event but SinkDetached; the run fails in its second stage."""
    first, second = "1-enumeration", "2-link"
    events: list[Event] = [
        RunStarted(RUN_ID, "2026-03-02T09:15:00.000Z", opening(), (first, second)),
        StageStarted(first, "enumeration", "", 0.0, taken_over=True),
        *(ReadingTaken(r) for r in readings(first)[1:2]),
        StageFinished(first, "enumeration", StageVerdict.PASS),
        StageStarted(second, "link", "Link again", 22.5),
        Promised(second, (SomeNote.LAMP_ON(light_lx=1.0), SomeNote.LAMP_ON(light_lx=2.0))),
        LoadPlanned(second, ((1.0, 100.0), (2.0, 200.0)), 9.0, SomeNote.LAMP_ON(light_lx=3.0)),
        SampleTaken(sample(1.25, second)),
        ForecastMade("forecast", "gpu_temp_c", 90.0, 12.5, SomeNote.LAMP_ON(light_lx=4.0)),
        WarningGiven(
            second,
            "forecast",
            "gpu_temp_c",
            71.0,
            90.0,
            0.75,
            12.5,
            SomeCause.DUST(),
            SomeCheck.WIPE(),
            SomeNote.LAMP_ON(light_lx=7.0),
        ),
        SampleTaken(sample(1.5, second, hotspot=True)),
        WarningOver(second, "forecast", "gpu_temp_c", 0.25, SomeNote.LAMP_ON(light_lx=8.0)),
        StageProgress(second, 1.0, 2.0, "s", SomeNote.LAMP_ON(light_lx=5.0)),
        Asked(second, SomePrompt.LOOK(output="DP-1"), "yes"),
        Noted(second, SomeNote.LAMP_ON(light_lx=6.0)),
        TrafficSummed(second, 2.0, 10**12, 7, 0, {"card bad TLP": 3}, {"card replays": 1}),
        SampleTaken(sample(1.75, second, gone=True)),
        GuardTripped(
            second,
            "limit",
            "gpu_temp_c",
            91.0,
            90.0,
            WhyReason.NO_LAMP(),
            SomeCause.DUST(),
            SomeCheck.WIPE(),
        ),
        *(ReadingTaken(r) for r in readings(second)),
        StageFinished(second, "link", StageVerdict.FAIL, (WhyReason.NO_LAMP(),)),
        RunFinished(
            "2026-03-02T09:15:09.000Z",
            RunVerdict.FAIL,
            VerdictReason.STAGES_FAILED(stages=(WhyReason.NO_LAMP(),)),
            Ended.DONE,
            (
                OwedWork(
                    second,
                    OwedWhat.READING(stage="Link again", reading="heat_k"),
                    WhyReason.NO_LAMP(),
                ),
            ),
        ),
    ]
    return events


def write(folder: Path, events: list[Event] | None = None, *, sums: bool = True) -> Path:
    """A record of the events, each a little later than the one before."""
    clock = HandClock()
    writer = RecordWriter(folder, clock, 0.0)
    for event in stream() if events is None else events:
        clock.sleep_s(clock.moves_s)
        writer(event)
    writer.close()
    if sums:
        write_checksums(folder)
    return folder
