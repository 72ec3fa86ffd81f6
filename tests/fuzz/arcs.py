"""Which ways through the tool's own code an input takes.

From Python 3.12 on the interpreter tells lines and branches itself, and a place that has nothing
new to tell is switched off: a long run is many times as fast there. Before that a trace function
looks at the package's files alone, and a function in which hundreds of calls found nothing new is
followed in every sixteenth call alone: most of a long run is spent in such.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import CodeType, FrameType
from typing import Any, Protocol

import burnin

_QUIET_CALLS = 300
_THEN_EVERY = 16
_TOOL = "fuzz"
PACKAGE = str(Path(burnin.__file__).parent)

Way = tuple[tuple[str, str, int], int, int]
"""A function, and two numbers that name a way through it."""


class Arcs(Protocol):
    """All ways seen so far; `count` grows where an input goes a new one."""

    @property
    def count(self) -> int:
        """How many different ways were taken."""

    @contextmanager
    def watching(self) -> Iterator[None]:
        """While inside, ways are noted."""
        yield

    def told(self) -> frozenset[Way]:
        """Every way that was taken, as another process would name it."""


def _place(code: CodeType) -> tuple[str, str, int]:
    return code.co_filename, code.co_name, code.co_firstlineno


def arcs() -> Arcs:
    """The fastest way to watch that this interpreter offers."""
    return Monitored() if sys.version_info >= (3, 12) else Traced()


class Traced:
    """Pairs of lines of one function, by a trace function."""

    def __init__(self) -> None:
        self._seen: set[tuple[CodeType, int, int]] = set()
        self._ours: dict[CodeType, bool] = {}
        self._quiet: dict[CodeType, int] = {}

    @property
    def count(self) -> int:
        """How many different arcs were taken."""
        return len(self._seen)

    @contextmanager
    def watching(self) -> Iterator[None]:
        """While inside, arcs are noted; a tracer that was there before is put back."""
        before = sys.gettrace()
        sys.settrace(self._enter)
        try:
            yield
        finally:
            sys.settrace(before)

    def told(self) -> frozenset[Way]:
        """Every pair of lines."""
        return frozenset((_place(code), before, after) for code, before, after in self._seen)

    def _enter(self, frame: FrameType, _event: str, _arg: Any) -> Any:
        code = frame.f_code
        ours = self._ours.get(code)
        if ours is None:
            ours = self._ours[code] = code.co_filename.startswith(PACKAGE)
        if not ours:
            return None
        quiet = self._quiet.get(code, 0) + 1
        self._quiet[code] = quiet
        if quiet > _QUIET_CALLS and quiet % _THEN_EVERY:
            return None
        seen, before = self._seen, 0

        def line(frame: FrameType, event: str, arg: Any) -> Any:
            nonlocal before
            if event == "line":
                number = frame.f_lineno
                arc = (code, before, number)
                if arc not in seen:
                    seen.add(arc)
                    self._quiet[code] = 0
                before = number
            return line

        return line


class Monitored:
    """Lines, and both sides of each branch, as the interpreter tells them (PEP 669).

    Told until the next one begins: to switch it on and off for each input would have all code
    instrumented anew each time.
    """

    def __init__(self) -> None:
        told: Any = sys.monitoring  # type: ignore[attr-defined, unused-ignore]
        self._disable = told.DISABLE
        self._lines: set[tuple[CodeType, int]] = set()
        self._branches: dict[tuple[CodeType, int], set[int]] = {}
        self._sides = 0
        tool, events = told.COVERAGE_ID, told.events
        if told.get_tool(tool) == _TOOL:
            told.set_events(tool, 0)
            told.free_tool_id(tool)
        told.use_tool_id(tool, _TOOL)
        told.register_callback(tool, events.LINE, self._line)
        told.register_callback(tool, events.BRANCH, self._branch)
        told.set_events(tool, events.LINE | events.BRANCH)
        told.restart_events()

    @property
    def count(self) -> int:
        """How many different lines and sides of branches were seen."""
        return len(self._lines) + self._sides

    @contextmanager
    def watching(self) -> Iterator[None]:
        """Nothing to do: it is told all the time."""
        yield

    def told(self) -> frozenset[Way]:
        """Every line, and every side of a branch."""
        lines = {(_place(code), number, -1) for code, number in self._lines}
        sides = {(_place(c), at, to) for (c, at), found in self._branches.items() for to in found}
        return frozenset(lines | sides)

    def _line(self, code: CodeType, number: int) -> Any:
        if code.co_filename.startswith(PACKAGE):
            self._lines.add((code, number))
        return self._disable

    def _branch(self, code: CodeType, at: int, to: int) -> Any:
        if not code.co_filename.startswith(PACKAGE):
            return self._disable
        sides = self._branches.setdefault((code, at), set())
        if to not in sides:
            sides.add(to)
            self._sides += 1
        return self._disable if len(sides) > 1 else None
