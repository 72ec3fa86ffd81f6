"""Several people at one ticket at the same moment: each a process, all let go together."""

from __future__ import annotations

import multiprocessing
import traceback
from collections.abc import Callable, Sequence
from functools import partial
from typing import Any

from typer.testing import CliRunner

from burnin.cli.app import app

Told = tuple[int, str]
"""Exit code, and all that was said."""
_PATIENT_S = 120.0
_FRESH: Any = multiprocessing.get_context("spawn")
"""A process of its own from its first line: nothing of this one's threads and locks is in it."""


def said(*words: str) -> Told:
    """One command; a traceback is part of what it said."""
    result = CliRunner().invoke(app, list(words))
    trace = ""
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        trace = "".join(traceback.format_exception(result.exception))
    return result.exit_code, result.output + trace


def at_once(*commands: Sequence[str], times: int = 1) -> list[Told]:
    """What each of these commands came to, all begun at the same moment, so many times."""
    told = together(*(partial(_in_a_row, tuple(words), times) for words in commands))
    return [one for person in told for one in person]


def _in_a_row(words: Sequence[str], times: int) -> list[Told]:
    return [said(*words) for _ in range(times)]


def together(*acts: Callable[[], Any]) -> list[Any]:
    """What each act came to, each in a process of its own; an error as code 99 with its words."""
    gate = _FRESH.Barrier(len(acts))
    queue = _FRESH.SimpleQueue()
    people = [
        _FRESH.Process(target=_do, args=(number, act, gate, queue))
        for number, act in enumerate(acts)
    ]
    for person in people:
        person.start()
    told = dict(queue.get() for _ in people)
    for person in people:
        person.join(_PATIENT_S)
        assert person.exitcode == 0
    return [told[number] for number in range(len(acts))]


def _do(number: int, act: Callable[[], Any], gate: Any, queue: Any) -> None:
    gate.wait(_PATIENT_S)
    try:
        queue.put((number, act()))
    except Exception:  # whatever it was, it is told as what was said
        queue.put((number, (99, traceback.format_exc())))
