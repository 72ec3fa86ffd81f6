"""Runs of several cards that go on at once, through the real writer; their folders can be held."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import AbstractContextManager, ExitStack
from dataclasses import dataclass, replace
from datetime import timedelta
from pathlib import Path

from burnin.core.answers.form import YES_NO
from burnin.core.clock import iso
from burnin.core.events import (
    Event,
    PromptOpened,
    ReadingTaken,
    RunFinished,
    RunStarted,
    SampleTaken,
    StageFinished,
    StageStarted,
)
from burnin.core.meaning import Prompt
from burnin.core.opening import ProfileOpened
from burnin.core.reading import NotMeasured, of_stage
from burnin.core.sample import Sample, Telemetry
from burnin.core.ticket_header import Ticket
from burnin.core.verdict import Ended, RunVerdict, StageVerdict, VerdictReason
from burnin.record.sums import sha256, write_checksums
from burnin.record.writer import RecordWriter
from burnin.run.record_lock import RecordLock, lock_record
from burnin.stages.display.meanings import DisplayPrompt
from tests.page.long_records import FIRST, PROFILE, SECOND, TITLE
from tests.record import streams

MONITOR = YES_NO.on(DisplayPrompt.CONNECT_MONITOR(output="DP-2"))


@dataclass(frozen=True)
class CardAtWork:
    """One card's run: who it is, how warm, what is asked, and whether it has come to its end."""

    label: str
    address: str = "0000:01:00.0"
    temp_c: float = 61.0
    power_w: float = 240.0
    asks: Prompt | None = None
    fails: bool = False
    ended: bool = False
    began_after_s: float = 0.0


EIGHT = (
    CardAtWork("Corvane Strata 9", "0000:01:00.0", 71.0, 312.4),
    CardAtWork("Corvane Strata 9", "0000:02:00.0", 68.0, 309.9, asks=MONITOR),
    CardAtWork("Harrow Peak 7 Duo", "0000:41:00.0", 84.0, 188.0),
    CardAtWork("Harrow Peak 7 Duo", "0000:42:00.0", 79.0, 190.2, fails=True),
    CardAtWork("Tarn C40 passive", "0000:81:00.0", 55.0, 70.0, ended=True),
    CardAtWork("Tarn C40 passive", "0000:82:00.0", 57.0, 71.0, asks=MONITOR, began_after_s=9.0),
    CardAtWork("Wexmoor Display Engine 12 Limited", "0000:c1:00.0", 91.0, 401.0),
    CardAtWork("Tarn C40", "0000:c2:00.0", 33.0, 14.0, fails=True, ended=True),
)


def write_run(results: Path, number: int, card: CardAtWork) -> Path:
    """The record of one card's run, some seconds after it began."""
    began = streams.STARTED + timedelta(seconds=card.began_after_s)
    run_id = f"{began:%Y%m%dT%H%M%SZ}-{number:04x}"
    folder = results / "2026-03-02" / run_id
    clock = streams.HandClock(card.began_after_s)
    writer = RecordWriter(folder, clock, card.began_after_s, simulated=True)
    for event in _events(run_id, iso(began), card):
        clock.sleep_s(0.5)
        writer(event)
    writer.close()
    if card.ended:
        write_checksums(folder)
    return folder


def held(folders: Sequence[Path]) -> AbstractContextManager[ExitStack]:
    """While inside these runs go on, as their folders are held."""
    stack = ExitStack()
    for folder in folders:
        lock: RecordLock = lock_record(folder)
        stack.callback(lock.release)
    return stack


def write_round(results: Path, cards: Sequence[CardAtWork]) -> list[Path]:
    """The records of all these cards, and those among them that go on."""
    folders = [write_run(results, number, card) for number, card in enumerate(cards, start=1)]
    return [folder for folder, card in zip(folders, cards, strict=True) if not card.ended]


def _events(run_id: str, began_utc: str, card: CardAtWork) -> list[Event]:
    opening = streams.opening(run_id)
    assert opening.card is not None
    opened = replace(
        opening,
        started_utc=began_utc,
        ticket=Ticket("", "", card.label, "", ""),
        card=replace(opening.card, address=card.address, name=card.label),
        profile=ProfileOpened("soak", TITLE, "soak.toml", sha256(PROFILE), PROFILE.decode()),
    )
    bad = [of_stage(streams.readings(FIRST)[0], FIRST)] if card.fails else []
    why = VerdictReason.STAGES_FAILED(stages=(streams.WhyReason.NO_LAMP(),))
    first = StageVerdict.FAIL if card.fails else StageVerdict.PASS
    found: list[Event] = [
        RunStarted(run_id, began_utc, opened, (FIRST, SECOND)),
        StageStarted(FIRST, "enumeration", "", 4.0),
        *map(ReadingTaken, bad),
        StageFinished(FIRST, "enumeration", first, (streams.WhyReason.NO_LAMP(),) * card.fails),
        StageStarted(SECOND, "thermal_ramp", "", 600.0),
        *(SampleTaken(_sample(at_s, card)) for at_s in (2.5, 3.0, 3.5)),
    ]
    if card.asks is not None:
        found.append(PromptOpened(SECOND, 1, card.asks, 600.0))
    if card.ended:
        found.append(StageFinished(SECOND, "thermal_ramp", StageVerdict.PASS))
        verdict = RunVerdict.FAIL if card.fails else RunVerdict.PASS
        reason = why if card.fails else VerdictReason.ALL_STAGES_PASSED(stages_count=2)
        found.append(RunFinished(began_utc, verdict, reason, Ended.DONE, ()))
    return found


def _sample(at_s: float, card: CardAtWork) -> Sample:
    stamp = iso(streams.STARTED + timedelta(seconds=card.began_after_s + at_s))
    telemetry = Telemetry(
        gpu_temp_c=card.temp_c,
        hotspot_temp_c=card.temp_c + 12.0,
        memory_temp_c=NotMeasured(streams.WhyReason.NO_LAMP()),
        power_w=card.power_w,
        throttle_reasons=(),
    )
    return Sample(at_s, stamp, SECOND, telemetry, 1.0, 300.0, 0.0014, True)
