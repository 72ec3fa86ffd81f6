"""Judges records anew: what the guards would have said, row by row, and what the cooling is.

JSON lines on the output: one where the load would have been stopped, one at the end of each file;
for a stream also one a row, each before the next row is read. Bad rows are named on standard error.
"""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

from burnin.core.errors import BadInput
from burnin.core.reading import NotMeasured
from burnin.core.sample import Sample, Telemetry
from burnin.guard.guard import Trip
from burnin.replay.guards import guards_for
from burnin.replay.recording_file import BadRow, Record, open_record

if TYPE_CHECKING:
    from burnin.profile.model import Guards

SIMPLE_EVERY_S = 0.5
"""The simple guards judge each change, and the unchanging rows so often."""
LINES_SHOWN = 20
"""Bad rows named a file; of more, their number is said."""


@dataclass(frozen=True)
class Judged:
    """What one file gave: output lines, messages for standard error, and 0 or 2."""

    lines: list[str]
    messages: list[str]
    exit_code: int


def replay(
    files: list[str], profile: str | None, as_json: bool, out: TextIO, err: TextIO | None = None
) -> int:
    """Judge every file (`-`: standard input) and print as it goes.

    Returns 0, or 2 if any file could not be judged. `as_json` False prints sentences instead of
    JSON lines.
    """
    err = err or sys.stderr
    if not files:
        print("replay: name at least one file, or - for standard input", file=err)
        return 2
    try:
        limits = _profile_guards(profile)
    except BadInput as error:
        print(error, file=err)
        return 2
    worst = 0
    for judged in _judge_all(files, limits, as_json, out, err):
        for message in judged.messages:
            print(message, file=err)
        for line in judged.lines:
            print(line, file=out)
        out.flush()
        worst = max(worst, judged.exit_code)
    return worst


def _profile_guards(profile: str | None) -> Guards | None:
    if profile is None:
        return None
    from burnin.profile.loader import load_profile

    return load_profile(profile).profile.guards


def _judge_all(
    files: list[str], limits: Guards | None, as_json: bool, out: TextIO, err: TextIO
) -> Iterator[Judged]:
    cores = min(_cores(), len(files))
    if "-" in files or cores < 2 or len(files) < 4:
        for file in files:
            yield _stream(limits, as_json, out, err) if file == "-" else judge_file(
                file, limits, as_json
            )
        return
    with ProcessPoolExecutor(cores) as pool:
        size = max(1, min(16, len(files) // (4 * cores)))
        yield from pool.map(
            judge_file,
            files,
            [limits] * len(files),
            [as_json] * len(files),
            chunksize=size,
        )


def _cores() -> int:
    """Cores that this process may use; not every system tells its share."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def judge_file(file: str, limits: Guards | None, as_json: bool) -> Judged:
    """Judge one file; never raises for what is in it."""
    lines: list[str] = []
    messages: list[str] = []
    try:
        with Path(file).open(encoding="utf-8", newline="") as stream:
            judge = Judge(open_record(file, stream), limits, as_json)
            for said in judge.run(messages):
                lines.extend(said)
    except BadInput as error:
        return Judged(lines, [*messages, str(error)], 2)
    except OSError as error:
        return Judged([], [f"{file}: cannot be read ({error.strerror})"], 2)
    return Judged(lines, messages, 0)


def _stream(limits: Guards | None, as_json: bool, out: TextIO, err: TextIO) -> Judged:
    """Judge standard input causally: each row's decision is out before the next row is read."""
    messages: list[str] = []
    try:
        judge = Judge(open_record("-", sys.stdin), limits, as_json, each_row=True)
        for said in judge.run(messages):
            while messages:
                print(messages.pop(0), file=err, flush=True)
            for line in said:
                print(line, file=out)
            out.flush()
    except BadInput as error:
        return Judged([], [*messages, str(error)], 2)
    return Judged([], messages, 0)


class Judge:
    """Leads the rows of one record past the guards."""

    def __init__(
        self, record: Record, limits: Guards | None, as_json: bool, *, each_row: bool = False
    ) -> None:
        self._record, self._as_json, self._each_row = record, as_json, each_row
        self.forecast, self._simple = guards_for(record, limits)
        self._simple_s = float("-inf")
        self._simple_codes: tuple[object, ...] = ()
        self._unseen: Sample | None = None
        self._stopped = False

    def run(self, messages: list[str]) -> Iterator[list[str]]:
        """Lines to print after each row, and those at the end; bad rows go to `messages`."""
        bad = 0
        for row in self._record.rows():
            if isinstance(row, BadRow):
                bad += 1
                if bad <= LINES_SHOWN:
                    messages.append(f"{self._record.file}: line {row.line} skipped: {row.why}")
                trip = self._judge_unread(row)
                if trip is not None:
                    yield [self._stop_line(row.time_s or 0.0, trip)]
                elif self._each_row:
                    yield []
                continue
            trip = self.judge(row)
            if trip is not None:
                self._stopped = True
                yield [self._stop_line(row.elapsed_s, trip)]
            elif self._each_row:
                yield [self._go_line(row)]
        if bad > LINES_SHOWN:
            messages.append(f"{self._record.file}: {bad - LINES_SHOWN} more rows skipped")
        yield [self._end_line()]

    def _judge_unread(self, row: BadRow) -> Trip | None:
        """A row without readings still tells that time has passed unseen."""
        if row.time_s is None or self._stopped:
            return None
        sample = Sample(row.time_s, "", "", Telemetry(gpu_temp_c=NotMeasured(row.why)))
        trips = (guard.judge(sample) for guard in self._simple)
        trip = next((t for t in trips if t is not None), None)
        self._stopped = trip is not None
        return trip

    def judge(self, sample: Sample) -> Trip | None:
        """The first guard's trip on this row, if any; after a stop only the cooling is watched."""
        if self._stopped:
            self.forecast.note_stage(sample.stage)
            seen = self.forecast.row(sample)
            if seen is not None:
                self.forecast.watch.see(seen)
            return None
        trip = self.forecast.judge(sample)
        if trip is not None:
            return trip
        t = sample.telemetry
        codes = (t.gpu_temp_c, t.hotspot_temp_c, t.memory_temp_c)
        due = sample.elapsed_s - self._simple_s >= SIMPLE_EVERY_S
        unseen, self._unseen = self._unseen, sample
        if not due and codes == self._simple_codes:
            return None
        self._simple_s, self._simple_codes = sample.elapsed_s, codes
        self._unseen = None
        # a hole in the record begins at the row before it
        rows = [sample] if unseen is None else [unseen, sample]
        trips = (guard.judge(row) for row in rows for guard in self._simple)
        return next((trip for trip in trips if trip is not None), None)

    def _go_line(self, sample: Sample) -> str:
        if not self._as_json:
            return f"{sample.elapsed_s:.1f} s: goes on"
        content = {"file": self._record.file, "action": "go", "time_s": sample.elapsed_s}
        return json.dumps(content, ensure_ascii=False)

    def _stop_line(self, time_s: float, trip: Trip) -> str:
        check = trip.check[:1].lower() + trip.check[1:]
        reason = f"{trip.reason}; suspected: {trip.suspect}; check: {check}"
        if not self._as_json:
            return (
                f"{self._record.file}: stop at {time_s:.1f} s ({trip.guard}): {reason}"
            )
        content = {
            "file": self._record.file,
            "action": "stop",
            "time_s": time_s,
            "guard": trip.guard,
            "reason": reason,
            "probability": trip.probability,
        }
        return json.dumps(content, ensure_ascii=False)

    def _end_line(self) -> str:
        from burnin.thermal.cooling_verdict import judge_cooling

        verdict = judge_cooling(self.forecast.watch)
        if not self._as_json:
            parts = ", ".join(
                f"{name.replace('_', ' ')} {e.value:.3f} ({e.low:.3f} to {e.high:.3f}) K/W"
                for name, e in verdict.resistance_k_per_w.items()
            )
            text = f"cooling: {verdict.state} ({100 * verdict.probability:.0f} %)"
            return f"{self._record.file}: end; {text}; {parts}".rstrip("; ")
        content = {"file": self._record.file, "action": "end", **verdict.as_plain()}
        return json.dumps(content, ensure_ascii=False)
