"""The loop: mutate, read, keep what went a new way; count what was not caught."""

from __future__ import annotations

import os
import time
import traceback
import warnings
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from typing import Protocol

from burnin.core.errors import BurninError
from tests.fuzz.arcs import PACKAGE, Arcs, Way, arcs
from tests.fuzz.target import Files, Target

LAST_FIFTH = 0.8
"""From this share of its inputs on, a run must have seen nothing new, else it goes on."""
MOST_TIMES = 3
"""It ends all the same when it took so many times the inputs that it was asked for."""
MOST_S_AN_INPUT = 20.0
"""Processor time that a reader may take for one input, watched arc by arc on a busy machine: far
more than any needs, far less than one that does not end."""
_KEPT = 400
_SHARED_EVERY = 200
_LEAST = 10
"""So many inputs are tried however slow the machine is."""


@dataclass(frozen=True)
class Uncaught:
    """An input that ended in anything but an error of ours: where, what, and the input."""

    where: str
    what: str
    input_: Files


@dataclass
class Summary:
    """A run over one target."""

    target: str
    inputs: int = 0
    arcs: int = 0
    gained_in_last_fifth: int = 0
    refused: int = 0
    processor_s: float = 0.0
    slowest_s: float = 0.0
    uncaught: dict[str, Uncaught] = field(default_factory=dict)

    def line(self) -> str:
        """As it is printed."""
        return (
            f"{self.target:<18} {self.inputs:>9,} inputs  {self.arcs:>6,} arcs"
            f"  {self.gained_in_last_fifth:>3} gained in the last fifth  {self.refused:>9,} refused"
            f"  {len(self.uncaught)} uncaught  {self.processor_s:>8.1f} s"
            f"  slowest {self.slowest_s:.2f} s"
        )


class Others(Protocol):
    """Who tries inputs on the same target; and the ways that were seen here, for all together."""

    before_last_fifth: frozenset[Way]
    at_end: frozenset[Way]

    def give(self, input_: Files) -> None:
        """Let the others have an input that went a new way."""

    def take(self) -> list[Files]:
        """What the others found since the last call."""


def fuzz(
    target: Target,
    room: Path,
    *,
    inputs: int,
    seed: int,
    until_flat: bool = False,
    most_s: float = float("inf"),
    told: Callable[[Summary], None] = lambda _: None,
    others: Others | None = None,
    keep: Path | None = None,
) -> Summary:
    """Try inputs on a target; `until_flat`: go on while the last fifth still found new ways.

    `others` try inputs on the same target: what goes a new way is shared with them, and what they
    had found before is tried first. An uncaught input is put below `keep` at once.
    """
    rng, ways, found = Random(f"{target.name} {seed}"), arcs(), Summary(target.name)
    made_in = room / "made"
    made_in.mkdir(parents=True, exist_ok=True)
    corpus = [*target.seeds(made_in), *(() if others is None else others.take())]
    laid = Laid(room / "laid", target)
    grown: list[tuple[int, int]] = []
    began = time.process_time()
    for input_ in _inputs(target, corpus, rng):
        before, met = ways.count, len(found.uncaught)
        _try(target, laid, input_, ways, found)
        if keep is not None and len(found.uncaught) > met:
            put_away(found, keep)
        found.inputs += 1
        if ways.count > before:
            grown.append((found.inputs, ways.count))
            corpus.append(input_)
            if others is not None:
                others.give(input_)
            if len(corpus) > _KEPT:
                del corpus[rng.randrange(len(corpus) // 2)]
        found.arcs, found.processor_s = ways.count, time.process_time() - began
        if found.inputs % 5000 == 0:
            told(found)
        if others is not None and found.inputs % _SHARED_EVERY == 0:
            corpus += others.take()
            del corpus[: max(0, len(corpus) - _KEPT)]
        if others is not None and found.inputs == int(LAST_FIFTH * inputs):
            others.before_last_fifth = ways.told()
        late = found.processor_s > most_s and found.inputs >= _LEAST
        if found.inputs >= inputs or late:
            since = LAST_FIFTH * found.inputs
            at_that = next((n for at, n in reversed(grown) if at <= since), 0)
            found.gained_in_last_fifth = ways.count - at_that
            flat = not until_flat or found.gained_in_last_fifth == 0
            if others is not None:
                others.at_end = ways.told()
            if flat or found.inputs >= MOST_TIMES * inputs or late:
                return found
    raise AssertionError("inputs never end")


def put_away(found: Summary, keep: Path) -> None:
    """Each uncaught input below a folder, a file for each of its own."""
    for number, one in enumerate(found.uncaught.values(), start=1):
        for name, content in one.input_.items():
            path = keep / str(number) / _below(name)
            try:
                path.parent.mkdir(parents=True, exist_ok=True)
                path.write_bytes(content)
            except OSError as error:  # one file stands where another's folder must be
                print(f"    {name} is not kept: {error}", flush=True)


def _below(name: str) -> Path:
    """A file's name as one below a folder: that of a tree may begin at the root."""
    return Path(*(part for part in Path(name.lstrip("/")).parts if part != ".."))


def _inputs(target: Target, corpus: list[Files], rng: Random) -> Iterator[Files]:
    yield from list(corpus)
    while True:
        # What was found last leads on most often.
        at = len(corpus) - 1 - int(len(corpus) * rng.random() ** 2)
        yield target.mutated(rng, corpus[max(0, at)], corpus)


class Laid:
    """The files of an input as they lie in the room; only what differs is written anew."""

    def __init__(self, folder: Path, target: Target) -> None:
        self.folder, self._target = folder, target
        self._there: dict[str, bytes] = {}
        folder.mkdir(parents=True, exist_ok=True)

    def lay(self, input_: Files) -> None:
        """Make the room hold these files and no others."""
        if not self._target.in_room:
            return
        for name in self._there.keys() - input_.keys():
            (self.folder / name).unlink(missing_ok=True)
            del self._there[name]
        for name, content in input_.items():
            if self._there.get(name) != content:
                path = self.folder / name
                path.parent.mkdir(parents=True, exist_ok=True)
                path.write_bytes(content)
                self._there[name] = content

    def changed(self) -> list[str]:
        """Files that a reader wrote, changed or took away."""
        if not self._target.in_room or self._target.writes:
            return []
        paths = (Path(place, name) for place, _, names in os.walk(self.folder) for name in names)
        now = {path.relative_to(self.folder).as_posix() for path in paths}
        sizes = [n for n in now & self._there.keys() if not self._same(n)]
        return sorted(now ^ self._there.keys()) + sizes

    def _same(self, name: str) -> bool:
        return (self.folder / name).stat().st_size == len(self._there[name])


def _try(target: Target, laid: Laid, input_: Files, ways: Arcs, found: Summary) -> None:
    laid.lay(input_)
    began = time.process_time()
    try:
        with ways.watching(), warnings.catch_warnings():
            # On a terminal a warning of a library is as strange to a person as a traceback.
            warnings.simplefilter("error", RuntimeWarning)
            target.read(laid.folder, input_)
    except BurninError as error:
        found.refused += 1
        if not str(error.told).strip():
            _note(found, input_, target.name, "an error without a word")
    except KeyboardInterrupt:
        raise
    except BaseException as error:
        _note(found, input_, _place(error), f"{type(error).__name__}: {str(error)[:200]}")
    took_s = time.process_time() - began
    found.slowest_s = max(found.slowest_s, took_s)
    if took_s > MOST_S_AN_INPUT:
        _note(found, input_, f"{target.name} slow", f"{took_s:.1f} s for one input")
    for name in laid.changed():
        _note(found, input_, f"{target.name} writes", f"{name} was written, changed or taken away")


def _note(found: Summary, input_: Files, where: str, what: str) -> None:
    kind = what.partition(":")[0]
    found.uncaught.setdefault(f"{where} {kind}", Uncaught(where, what, input_))


def _place(error: BaseException) -> str:
    """The innermost line of the package that the error passed."""
    frames = traceback.extract_tb(error.__traceback__)
    ours = [f for f in frames if f.filename.startswith(PACKAGE)] or list(frames)
    last = ours[-1]
    return f"{last.filename.removeprefix(PACKAGE)}:{last.lineno}"
