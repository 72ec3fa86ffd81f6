"""Recordings, as CSV files: comment lines with what is known, a header, one row a sample.

A recording is telemetry of any origin; a record is the folder that a run leaves behind.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TextIO

from burnin.core.errors import BadInput
from burnin.core.meaning import Reason
from burnin.core.reading import NotMeasured, ReadingReason
from burnin.core.sample import Sample, Telemetry
from burnin.replay.reasons import ReplayReason, ReplayRefusal
from burnin.replay.recording_head import Known, take_known

NEEDED = ("time_s", "power_w", "gpu_temp_c")
COUNTER = "energy_j"
"""Energy of the board so far; without it power is what `power_w` says."""
STAGE = "stage"
"""Name of the work in a run's own samples."""
OPTIONAL = ("hotspot_temp_c", "memory_temp_c", "fan_rpm", COUNTER)
ALSO_CALLED = {"elapsed_s": "time_s", "power_average_w": "power_w"}
"""Names of other recordings for a needed column."""
MOST_CHARACTERS = 1 << 16
"""Of a line; a header with a thousand columns has fewer."""
MOST_TIME_S = 1e11
"""Three thousand years: whatever a recording counts its time from, none is so long."""
MOST_USELESS = 10_000
"""Lines without a sample, one after the other, after which nobody reads on."""
_MOST = {"fan_rpm": 1e6, COUNTER: 1e15}
"""Of a value that need not be there; what is larger, or negative, is taken for not read."""
_ABSENT = NotMeasured(ReplayReason.COLUMN_ABSENT())
_EMPTY = NotMeasured(ReadingReason.NOT_READ())


@dataclass(frozen=True)
class BadRow:
    """A row that cannot be used: its line in the file (from 1), why, its time where it has one."""

    line: int
    why: Reason
    time_s: float | None = None


@dataclass
class Recording:
    """An opened recording: what is known is read, rows follow one by one from `rows`."""

    file: str
    known: Known
    _lines: Iterator[tuple[int, str]]
    _places: dict[str, int]
    _last_s: float = field(default=-math.inf)

    def has(self, column: str) -> bool:
        """Whether the header names this column."""
        return column in self._places

    def rows(self) -> Iterator[Sample | BadRow]:
        """Each row in turn, read no sooner than it is asked for."""
        useless = 0
        for number, text in self._lines:
            blank = not text.strip() or text.lstrip().startswith("#")
            row = None if blank else self._row(number, text)
            useless = 0 if isinstance(row, Sample) else useless + 1
            if row is not None:
                yield row
            if useless >= MOST_USELESS:
                raise BadInput(
                    ReplayRefusal.NO_SAMPLES(file=self.file, line=number, count=MOST_USELESS)
                )

    def _row(self, number: int, text: str) -> Sample | BadRow:
        cells = text.rstrip("\r\n").split(",") if '"' not in text else next(csv.reader([text]))
        place = self._places.get(STAGE, len(cells))
        stage = cells[place].strip() if place < len(cells) else ""
        values: dict[str, float | NotMeasured] = {}
        found = self._fill(values, cells)
        if found is not None:
            return BadRow(number, found, self._time(values))
        return self._sample(number, stage, values)

    def _time(self, values: dict[str, float | NotMeasured]) -> float | None:
        time_s = values.get("time_s")
        return time_s if isinstance(time_s, float) and time_s > self._last_s else None

    def _fill(self, values: dict[str, float | NotMeasured], cells: list[str]) -> Reason | None:
        """Put every cell into `values`; what is wrong with the first that cannot be used."""
        for column, place in self._places.items():
            if column == STAGE:
                continue
            if place >= len(cells):
                return ReplayReason.CELL_MISSING(column=column, cells_count=len(cells))
            cell = cells[place].strip()
            if not cell and column in OPTIONAL:
                values[column] = _EMPTY
                continue
            try:
                value = float(cell)
            except ValueError:
                if column == COUNTER:
                    values[column] = _EMPTY
                    continue
                return ReplayReason.NOT_A_NUMBER(column=column, cell=cell[:40])
            if not math.isfinite(value):
                return ReplayReason.NOT_FINITE(column=column, cell=cell[:40])
            most = _MOST.get(column, math.inf)
            values[column] = value if 0.0 <= value <= most or column not in _MOST else _EMPTY
        return None

    def _sample(
        self, number: int, stage: str, values: dict[str, float | NotMeasured]
    ) -> Sample | BadRow:
        time_s, power_w, die_c = (values[name] for name in NEEDED)
        assert isinstance(time_s, float)
        assert isinstance(power_w, float)
        if abs(time_s) > MOST_TIME_S:
            return BadRow(number, ReplayReason.TIME_ABSURD(time_s=time_s))
        if time_s <= self._last_s:
            why = ReplayReason.TIME_RUNS_BACK(time_s=time_s, last_s=self._last_s)
            return BadRow(number, why)
        if not -1.0 <= power_w <= 5000.0:
            return BadRow(number, ReplayReason.POWER_ABSURD(power_w=power_w))
        for name in ("gpu_temp_c", "hotspot_temp_c", "memory_temp_c"):
            value = values.get(name, _ABSENT)
            if isinstance(value, float) and not -60.0 <= value <= 250.0:
                why = ReplayReason.TEMPERATURE_ABSURD(column=name, temp_c=value)
                return BadRow(number, why)
        self._last_s = time_s
        telemetry = Telemetry(
            gpu_temp_c=die_c,
            hotspot_temp_c=values.get("hotspot_temp_c", _ABSENT),
            memory_temp_c=values.get("memory_temp_c", _ABSENT),
            power_w=max(0.0, power_w),
            fan_rpm=values.get("fan_rpm", _ABSENT),
            energy_j=values.get("energy_j", _ABSENT),
        )
        # Nobody says what was asked of the card: what it drew stands for it.
        return Sample(time_s, "", stage, telemetry, load_w=max(0.0, power_w))


def open_recording(file: str, stream: TextIO) -> Recording:
    """Read what is known and the header; raises BadInput with the line that cannot be used."""
    known = Known()
    lines = _numbered(file, stream)
    for number, text in lines:
        if number > MOST_USELESS:
            break
        stripped = text.strip().lstrip("\ufeff")
        if not stripped:
            continue
        if stripped.startswith("#"):
            take_known(known, file, number, stripped[1:])
            continue
        return Recording(file, known, lines, _header(file, number, stripped))
    raise BadInput(ReplayRefusal.NO_HEADER(file=file, needed=NEEDED))


def _numbered(file: str, stream: TextIO) -> Iterator[tuple[int, str]]:
    number = 0
    while True:
        try:
            text = stream.readline(MOST_CHARACTERS)
        except UnicodeDecodeError as error:
            raise BadInput(
                ReplayRefusal.NO_TEXT(file=file, line=number + 1, words=error.reason)
            ) from error
        if not text:
            return
        number += 1
        if len(text) >= MOST_CHARACTERS:
            raise BadInput(ReplayRefusal.LINE_TOO_LONG(file=file, line=number))
        yield number, text


def _header(file: str, number: int, text: str) -> dict[str, int]:
    names = [n.strip() for n in next(csv.reader([text]))]
    twice = [n for n in (*NEEDED, *OPTIONAL, *ALSO_CALLED, STAGE) if names.count(n) > 1]
    if twice:
        raise BadInput(ReplayRefusal.COLUMN_TWICE(file=file, line=number, column=twice[0]))
    places = {n: i for i, n in enumerate(names)}
    for other, name in ALSO_CALLED.items():
        if other in places:
            places.setdefault(name, places[other])
    missing = [n for n in NEEDED if n not in places]
    if missing:
        raise BadInput(
            ReplayRefusal.COLUMN_MISSING(
                file=file, line=number, missing=tuple(missing), header=', '.join(names)
            )
        )
    return {n: places[n] for n in (*NEEDED, *OPTIONAL, STAGE) if n in places}
