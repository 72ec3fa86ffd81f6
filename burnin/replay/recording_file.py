"""Recordings, as CSV files: comment lines with what is known, a header, one row a sample.

A recording is telemetry of any origin; a record is the folder that a run leaves behind.
"""

from __future__ import annotations

import csv
import json
import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TextIO

from burnin.core.errors import BadInput
from burnin.core.meaning import Reason
from burnin.core.reading import NotMeasured, ReadingReason
from burnin.core.sample import Sample, Telemetry
from burnin.replay.reasons import ReplayReason

NEEDED = ("time_s", "power_w", "gpu_temp_c")
COUNTER = "energy_j"
"""Energy of the board so far; without it power is what `power_w` says."""
STAGE = "stage"
"""Name of the work in a run's own samples."""
OPTIONAL = ("hotspot_temp_c", "memory_temp_c", "fan_rpm", COUNTER)
ALSO_CALLED = {"elapsed_s": "time_s", "power_average_w": "power_w"}
"""Names of other recordings for a needed column."""
WAYS_OF_COOLING = ("fans", "water", "stream")

_ABSENT = NotMeasured(ReplayReason.COLUMN_ABSENT())
_EMPTY = NotMeasured(ReadingReason.NOT_READ())


@dataclass
class Known:
    """What the comment lines say; None where they are silent."""

    limit_c: float | None = None
    hotspot_limit_c: float | None = None
    ambient_c: float | None = None
    has_fan: bool | None = None
    cooling: str | None = None
    plan: tuple[tuple[float, float], ...] | None = None


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
        for number, text in self._lines:
            if not text.strip() or text.lstrip().startswith("#"):
                continue
            yield self._row(number, text)

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
            values[column] = value
        return None

    def _sample(
        self, number: int, stage: str, values: dict[str, float | NotMeasured]
    ) -> Sample | BadRow:
        time_s, power_w, die_c = (values[name] for name in NEEDED)
        assert isinstance(time_s, float)
        assert isinstance(power_w, float)
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
        return Sample(time_s, "", stage, telemetry)


def open_recording(file: str, stream: TextIO) -> Recording:
    """Read what is known and the header; raises BadInput with the line that cannot be used."""
    known = Known()
    lines = _numbered(file, stream)
    for number, text in lines:
        stripped = text.strip().lstrip("\ufeff")
        if not stripped:
            continue
        if stripped.startswith("#"):
            _take_known(known, file, number, stripped[1:])
            continue
        return Recording(file, known, lines, _header(file, number, stripped))
    raise BadInput(f"{file}: empty; a header with {', '.join(NEEDED)} is needed")


def _numbered(file: str, stream: TextIO) -> Iterator[tuple[int, str]]:
    number = 0
    while True:
        try:
            text = stream.readline()
        except UnicodeDecodeError as error:
            raise BadInput(f"{file}: line {number + 1} is not text ({error.reason})") from error
        if not text:
            return
        number += 1
        yield number, text


def _header(file: str, number: int, text: str) -> dict[str, int]:
    names = [n.strip() for n in next(csv.reader([text]))]
    places = {n: i for i, n in reversed(list(enumerate(names)))}
    for other, name in ALSO_CALLED.items():
        if other in places:
            places.setdefault(name, places[other])
    missing = [n for n in NEEDED if n not in places]
    if missing:
        raise BadInput(
            f"{file}: line {number}: needed column {', '.join(missing)} is missing; "
            f"the header has {', '.join(names)[:200]}"
        )
    return {n: places[n] for n in (*NEEDED, *OPTIONAL, STAGE) if n in places}


def _take_known(known: Known, file: str, number: int, text: str) -> None:
    """One comment line; one without `key = value`, or of an unknown key, is plain comment."""
    key, equals, value = (part.strip() for part in text.partition("="))
    if not equals or key not in Known.__dataclass_fields__:
        return
    try:
        if key == "plan":
            known.plan = _plan(value)
        elif key == "has_fan":
            known.has_fan = _yes(value)
        elif key == "cooling":
            known.cooling = _one_of(value, WAYS_OF_COOLING)
        else:
            degrees = float(value)
            if not -60.0 <= degrees <= 250.0:
                raise ValueError("a temperature of -60 to 250 °C is allowed")
            setattr(known, key, degrees)
    except (ValueError, TypeError) as error:
        raise BadInput(f"{file}: line {number}: {key} = {value[:60]}: {error}") from error


def _yes(value: str) -> bool:
    word = value.lower()
    if word in {"true", "yes", "1"}:
        return True
    if word in {"false", "no", "0"}:
        return False
    raise ValueError("true or false is allowed")


def _one_of(value: str, words: tuple[str, ...]) -> str:
    word = value.strip("\"' ").lower()
    if word not in words:
        raise ValueError(f"{', '.join(words[:-1])} or {words[-1]} is allowed")
    return word


def _plan(value: str) -> tuple[tuple[float, float], ...]:
    """`[[0, 150], [30, 300]]`: from second, watts; sorted, finite, not negative."""
    try:
        steps = tuple((float(start), float(watts)) for start, watts in json.loads(value))
    except (ValueError, TypeError) as error:
        raise ValueError("a list like [[0, 150], [30, 300]] is allowed") from error
    starts = [s for s, _ in steps]
    if not steps or starts != sorted(starts) or not all(map(math.isfinite, starts)):
        raise ValueError("steps must follow each other in time")
    if any(not 0.0 <= w <= 5000.0 for _, w in steps):
        raise ValueError("0 to 5000 W are allowed")
    return steps
