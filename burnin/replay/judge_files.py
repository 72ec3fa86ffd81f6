"""Files and folders judged in turn, or over several cores; standard input as it comes."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import TextIO

from burnin.core.errors import BadInput
from burnin.core.meaning import Reason
from burnin.core.system import cannot_read
from burnin.profile.loader import LoadedProfile
from burnin.record.reader import read_record
from burnin.replay.case import Case, case_of_record, case_of_recording
from burnin.replay.judging import Judging, Result, Unsound
from burnin.replay.recording_file import open_recording

STANDARD_INPUT = "-"
FEW_FILES = 4
"""So many are judged by one process: more would take longer to start."""


@dataclass(frozen=True)
class Told:
    """One thing said of one file; `result` is a message where the file could not be judged."""

    name: str
    is_record: bool
    result: Result | Reason | str


def judge_files(names: list[str], loaded: LoadedProfile | None) -> Iterator[Told]:
    """Everything that is said of each in turn; never raises for what is in one."""
    cores = min(_cores(), len(names))
    if STANDARD_INPUT in names or cores < 2 or len(names) < FEW_FILES:
        for name in names:
            yield from _said_of(name, loaded)
        return
    with ProcessPoolExecutor(cores) as pool:
        size = max(1, min(16, len(names) // (4 * cores)))
        for told in pool.map(_all_said_of, names, [loaded] * len(names), chunksize=size):
            yield from told


def _all_said_of(name: str, loaded: LoadedProfile | None) -> list[Told]:
    return list(_said_of(name, loaded))


def _said_of(name: str, loaded: LoadedProfile | None) -> Iterator[Told]:
    is_record = name != STANDARD_INPUT and Path(name).is_dir()
    try:
        if is_record:
            record = read_record(Path(name))
            case = case_of_record(record, loaded)
            condition = record.condition  # no cut takes a whole table: somebody took it away
            flaws = (*condition.missing, *condition.made_up)
            yield from (Told(name, True, Unsound(flaw)) for flaw in flaws)
            yield from _judged(name, case)
        elif name == STANDARD_INPUT:
            yield from _judged(name, _recording(name, sys.stdin, loaded), each_row=True)
        else:
            with Path(name).open(encoding="utf-8", newline="") as stream:
                yield from _judged(name, _recording(name, stream, loaded))
    except BadInput as error:
        yield Told(name, is_record, error.told)
    except OSError as error:
        yield Told(name, is_record, cannot_read(name, error))


def _recording(name: str, stream: TextIO, loaded: LoadedProfile | None) -> Case:
    recording = open_recording(name, stream)
    if loaded is None:
        return case_of_recording(recording)
    return case_of_recording(recording, loaded.profile.guards, loaded.name)


def _judged(name: str, case: Case, *, each_row: bool = False) -> Iterator[Told]:
    for result in Judging(case).results(each_row=each_row, warnings=True):
        yield Told(name, case.is_record, result)


def _cores() -> int:
    """Cores that this process may use; not every system tells its share."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1
