"""Several people at one ticket at the same moment: each a process, all let go together."""

from __future__ import annotations

import multiprocessing
import traceback
from collections.abc import Callable, Sequence
from typing import Any

from typer.testing import CliRunner

from burnin.cli.app import app

Told = tuple[int, str]
"""Exit code, and all that was said."""
_PATIENT_S = 120.0
_FORKED: Any = multiprocessing.get_context("fork")


def said(*words: str) -> Told:
    """One command; a traceback is part of what it said."""
    result = CliRunner().invoke(app, list(words))
    trace = ""
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        trace = "".join(traceback.format_exception(result.exception))
    return result.exit_code, result.output + trace


def at_once(*commands: Sequence[str]) -> list[Told]:
    """What each of these commands came to, carried out at the same moment."""
    return together(*(lambda words=words: said(*words) for words in commands))


def together(*acts: Callable[[], Told]) -> list[Told]:
    """What each act came to, each in a process of its own."""
    gate = _FORKED.Barrier(len(acts))
    queue = _FORKED.SimpleQueue()
    people = [
        _FORKED.Process(target=_do, args=(number, act, gate, queue))
        for number, act in enumerate(acts)
    ]
    for person in people:
        person.start()
    for person in people:
        person.join(_PATIENT_S)
        assert person.exitcode == 0
    told = dict(queue.get() for _ in people)
    return [told[number] for number in range(len(acts))]


def _do(number: int, act: Callable[[], Told], gate: Any, queue: Any) -> None:
    gate.wait(_PATIENT_S)
    try:
        queue.put((number, act()))
    except Exception:  # whatever it was, it is told as what was said
        queue.put((number, (99, traceback.format_exc())))
