"""The course of one case before its guards, kept to be drawn: readings, bands, warnings, stops."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from burnin.core.events import WarningGiven, WarningOver
from burnin.core.foreseen import Foreseen
from burnin.core.sample import Sample
from burnin.guard.factory import facts_first
from burnin.profile.loader import LoadedProfile
from burnin.record.reader import Record, read_record
from burnin.replay.case import Case, case_of_record, case_of_recording
from burnin.replay.judging import Ends, GoesOn, Judging, Stops, Warned
from burnin.replay.recording_file import open_recording


@dataclass(frozen=True)
class Course:
    """What the guards made of a case.

    `limits_c`: limit of each temperature, by the name of its signal. `came`: at each moment, what
    had been foreseen of it, where the load went as it had been told. `ahead`: at each warning and
    stop, moment and what was foreseen from there on.
    """

    name: str
    limits_c: dict[str, float]
    samples: tuple[Sample, ...]
    came: tuple[tuple[float, Foreseen], ...]
    ahead: tuple[tuple[float, tuple[Foreseen, ...]], ...]
    warnings: tuple[tuple[float, WarningGiven | WarningOver], ...]
    stops: tuple[Stops, ...]
    end: Ends


def course_of(case: Case) -> Course:
    """Lead a case past its guards, every row of it."""
    judging = Judging(case)
    samples: list[Sample] = []
    came: list[tuple[float, Foreseen]] = []
    ahead: list[tuple[float, tuple[Foreseen, ...]]] = []
    warnings: list[tuple[float, WarningGiven | WarningOver]] = []
    stops: list[Stops] = []
    newest: tuple[Foreseen, ...] = ()
    end = Ends(case.profile, 0, None, None)
    for result in judging.results(each_row=True, warnings=True):
        if isinstance(result, GoesOn | Stops) and judging.last is not None:
            samples.append(judging.last)
        if isinstance(result, GoesOn):
            came += [(result.time_s, foreseen) for foreseen in judging.guards.came_due()]
            newest = judging.guards.foreseen() or newest
        elif isinstance(result, Stops):
            stops.append(result)
            ahead.append((result.time_s, judging.guards.foreseen() or newest))
        elif isinstance(result, Warned):
            warnings.append((result.time_s, result.event))
            if isinstance(result.event, WarningGiven):
                ahead.append((result.time_s, judging.guards.foreseen()))
        elif isinstance(result, Ends):
            end = result
    return Course(
        case.name, _limits_c(case), tuple(samples), tuple(came), tuple(ahead), tuple(warnings),
        tuple(stops), end,
    )  # fmt: skip


def course_of_file(path: Path, loaded: LoadedProfile | None = None) -> tuple[Course, Record | None]:
    """The course of a recording or of a record's folder, with the record; raises BadInput, OSError.

    `loaded`: the profile whose guards judge; None: a record's own, or the defaults of recordings.
    """
    if path.is_dir():
        record = read_record(path)
        return course_of(case_of_record(record, loaded)), record
    settings, name = (None, "") if loaded is None else (loaded.profile.guards, loaded.name)
    with path.open(encoding="utf-8", newline="") as stream:
        recording = open_recording(str(path), stream)
        return course_of(case_of_recording(recording, settings, name)), None


def _limits_c(case: Case) -> dict[str, float]:
    said = facts_first(case.settings, case.facts)
    limits = {
        "gpu_temp_c": said.gpu_temp_limit_c,
        "hotspot_temp_c": said.hotspot_temp_limit_c,
        "memory_temp_c": said.memory_temp_limit_c,
    }
    return {signal: limit for signal, limit in limits.items() if limit is not None}
