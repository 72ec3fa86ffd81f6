"""Which ways through the tool's own code an input takes: pairs of lines of one function.

Python 3.11 has no monitoring that switches itself off; the trace function looks at the package's
files alone and lets all others run at full speed. A function in which hundreds of calls found
nothing new is followed in every sixteenth call alone: most of a long run is spent in such.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import CodeType, FrameType
from typing import Any

import burnin

_QUIET_CALLS = 300
_THEN_EVERY = 16
PACKAGE = str(Path(burnin.__file__).parent)


class Arcs:
    """All arcs seen so far; `count` grows where an input goes a new way."""

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
