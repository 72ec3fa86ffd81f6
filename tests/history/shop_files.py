"""A made-up shop as files: records and tickets' logs, as a shop's folder of results holds them.

Some records are torn by a power cut, some were edited, some are of an older format, some ended
with no word; `Kept` says how many of each, so that a test knows what must come of them.
"""

from __future__ import annotations

import random
import shutil
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from burnin.core.clock import iso
from burnin.core.events import (
    Event,
    ReadingTaken,
    RunFinished,
    RunStarted,
    SampleTaken,
    StageFinished,
    StageStarted,
    WarningGiven,
)
from burnin.core.identity import Identity
from burnin.core.opening import EngineDescription, Opening, ProfileOpened
from burnin.core.reading import Limit, NotMeasured, judge, of_stage
from burnin.core.sample import Sample, Telemetry
from burnin.core.ticket_header import Ticket
from burnin.core.verdict import Ended, RunVerdict, StageVerdict, VerdictReason
from burnin.record.event_log import LogEvent, append
from burnin.record.sums import sha256, write_checksums
from burnin.record.writer import RecordWriter
from burnin.ticket.log.ticket_from_log import LOG
from tests.history.shop import Run, Shop, Visit
from tests.record.streams import SomeCause, SomeCheck, SomeNote, WhyReason

PROFILE = "format = 1\n"
OLD = Path(__file__).parents[1] / "data" / "format_1_records"
OLD_ONES = ("hand_made_passed", "hand_made_failed", "hand_made_conditional")
SAMPLES = 12


@dataclass(frozen=True)
class Kept:
    """How many records of each condition lie there."""

    whole: int
    torn: int
    edited: int
    unclosed: int
    old: int


@dataclass
class ClockAt:
    """Stands where it is put."""

    start: datetime
    elapsed_s: float = 0.0

    def monotonic_s(self) -> float:
        return self.elapsed_s

    def utc(self) -> datetime:
        return self.start.replace(tzinfo=UTC) + timedelta(seconds=self.elapsed_s)

    def sleep_s(self, seconds: float) -> None:
        self.elapsed_s += seconds


def write_shop(
    results: Path, shop: Shop, *, seed: int = 0, torn: int = 0, edited: int = 0,
    unclosed: int = 0, old: int = 0,
) -> Kept:  # fmt: skip
    """Every ticket and every run of a shop; beside them so many runs of each other condition."""
    for visit in shop.visits:
        write_visit(results, visit)
    return write_others(
        results, shop, seed=seed, torn=torn, edited=edited, unclosed=unclosed, old=old
    )


def write_visit(results: Path, visit: Visit) -> None:
    """A ticket with its runs."""
    write_ticket(results, visit)
    for place, run in enumerate(visit.runs):
        write_run(results / visit.number / _name(place), visit, run)


def write_others(
    results: Path, shop: Shop, *, seed: int = 0, torn: int = 0, edited: int = 0,
    unclosed: int = 0, old: int = 0,
) -> Kept:  # fmt: skip
    """So many runs of each other condition, beside those of the shop."""
    chance = random.Random(seed)
    with_runs = [visit for visit in shop.visits if visit.runs]
    extra = results / "2022-12-01"
    for number in range(torn + edited + unclosed):
        visit = chance.choice(with_runs)
        folder = extra / f"run-{number:04d}"
        whole = number < torn + edited
        write_run(folder, visit, visit.runs[0], closed=whole)
        if number < torn:
            path = folder / chance.choice(("samples.csv", "readings.csv", "journal.csv"))
            path.write_bytes(path.read_bytes()[: -chance.randint(8, 40)])
        elif whole:
            path = folder / "readings.csv"
            path.write_bytes(path.read_bytes().replace(b"GB/s", b"GB/h", 1))
    for number in range(old):
        name = OLD_ONES[number % len(OLD_ONES)]
        folder = extra / f"old-{number:04d}"
        shutil.copytree(OLD / name, folder)
        run_file = folder / "run.json"
        text = run_file.read_text("utf-8")
        run_file.write_text(text.replace('"run_id": "', f'"run_id": "{number}-', 1), "utf-8")
        (folder / "checksums.sha256").unlink(missing_ok=True)
    return Kept(shop.runs_count, torn, edited, unclosed, old)


def write_ticket(results: Path, visit: Visit) -> None:
    """A ticket's log in one piece."""
    told = [
        _line(visit.opened, "opened", number=visit.number, customer=visit.customer,
              card=visit.model, serial=visit.serial, technician=visit.technician,
              fault=f"{visit.customer} dropped it", runs_listed=True),
        *(_line(visit.opened, "seen", where=where, what=what) for where, what in visit.damage),
        *(_line(at, "repaired", what=what, contacts=list(places))
          for at, what, places in visit.repairs),
    ]  # fmt: skip
    if visit.out is not None:
        told += [
            _line(visit.out, "handed_over", folder="handover-1", verdict="pass", fingerprint="f"),
            _line(visit.out, "closed"),
        ]
    told.sort(key=lambda event: event.time_utc)
    append(results / visit.number / LOG, lambda _: told)


def _line(at: datetime, kind: str, **fields: object) -> LogEvent:
    return LogEvent(iso(at.replace(tzinfo=UTC)), kind, "Ilse Tarn", fields)


def _name(place: int) -> str:
    return f"run-{place + 1}"


def write_run(
    folder: Path, visit: Visit, run: Run, *, closed: bool = True, serial: str | None = "",
    uuid: str | None = None,
) -> None:  # fmt: skip
    """A run's record, as the writer of every run leaves it; a number that is None was not told."""
    clock = ClockAt(run.at)
    writer = RecordWriter(folder, clock, 0.0)
    untold = NotMeasured(WhyReason.NO_LAMP())
    for elapsed_s, event in _events(folder, visit, run):
        if isinstance(event, RunStarted) and event.opening.card is not None:
            card = replace(
                event.opening.card,
                serial=untold if serial is None else serial or visit.serial,
                uuid=untold if uuid is None else uuid,
            )
            event = replace(event, opening=replace(event.opening, card=card))
        clock.elapsed_s = elapsed_s
        if closed or not isinstance(event, RunFinished):
            writer(event)
    writer.close()
    if closed:
        write_checksums(folder)


def _events(folder: Path, visit: Visit, run: Run) -> Iterator[tuple[float, Event]]:
    run_id = f"{visit.number}/{folder.name}"
    names = [f"{n}-{kind}" for n, (kind, _, _) in enumerate(run.stages, start=1)]
    opening = _opening(run_id, folder, visit, run)
    yield 0.0, RunStarted(run_id, iso(run.at.replace(tzinfo=UTC)), opening, tuple(names))
    at, minutes_all = 0.0, sum(minutes for _, _, minutes in run.stages)
    every_s = 60.0 * minutes_all / SAMPLES
    taken = 0
    for name, (kind, passed, minutes) in zip(names, run.stages, strict=True):
        yield at, StageStarted(name, kind, "", 60.0 * minutes)
        end = at + 60.0 * minutes
        while taken < SAMPLES and taken * every_s < end:
            moment = max(at, taken * every_s)
            stamp = iso((run.at + timedelta(seconds=moment)).replace(tzinfo=UTC))
            heat = 40.0 + 2.0 * taken
            telemetry = Telemetry(gpu_temp_c=heat, power_w=120.0, link_width_lanes=16.0)
            yield moment, SampleTaken(Sample(moment, stamp, name, telemetry, 0.5, 300.0, 0.001))
            taken += 1
        if kind == "thermal_ramp" and run.warned:
            yield end, WarningGiven(
                name, "forecast", "gpu_temp_c", 80.0, 90.0, 0.6, 30.0, SomeCause.DUST(),
                SomeCheck.WIPE(), SomeNote.LAMP_ON(light_lx=1.0),
            )  # fmt: skip
        for reading, value in run.readings.get(kind, {}).items():
            limit = Limit(value.at_least, value.at_most)
            u = 0.0 if value.unit == "lanes" else 0.2
            judged = judge(reading, value.number, value.unit, limit, uncertainty=u)
            yield end, ReadingTaken(of_stage(judged, name))
        yield end, StageFinished(name, kind, StageVerdict.PASS if passed else StageVerdict.FAIL)
        at = end
    verdict = RunVerdict.PASS if run.passed else RunVerdict.FAIL
    reason = VerdictReason.ALL_STAGES_PASSED(stages_count=len(names))
    ended = iso((run.at + timedelta(seconds=at)).replace(tzinfo=UTC))
    yield at, RunFinished(ended, verdict, reason, Ended.DONE)


def _opening(run_id: str, folder: Path, visit: Visit, run: Run) -> Opening:
    untold = NotMeasured(WhyReason.NO_LAMP())
    return Opening(
        run_id=run_id,
        started_utc=iso(run.at.replace(tzinfo=UTC)),
        folder=str(folder),
        tool={"burnin": "0.1.0", "python": "3.11.2"},
        options={},
        profile=ProfileOpened(
            "desktop_air", "Desktop", "desktop_air.toml", sha256(PROFILE.encode()), PROFILE
        ),
        guards={"gpu_temp_limit_c": 90.0},
        ticket=Ticket(visit.number, visit.customer, visit.model, visit.technician, ""),
        engine=EngineDescription("vulkan", visit.model, "", SomeNote.LAMP_ON(light_lx=5.0)),
        card=Identity(
            address="0000:01:00.0",
            vendor_id=0xF5A7,
            device_id=9,
            subsystem_vendor_id=untold,
            subsystem_id=untold,
            revision=untold,
            class_code=0x030000,
            name=visit.model,
            vendor_name=untold,
            driver="strata",
            driver_version="6.1.0",
            firmware_version="94.02.71",
            memory_bytes=24 << 30,
            serial=visit.serial,
            uuid=untold,
            bars=(),
        ),
        bench={"kernel": "6.18", "bench_identity": run.bench},
    )
