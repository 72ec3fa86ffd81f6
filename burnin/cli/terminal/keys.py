"""Whether somebody has typed, and how what was typed too early is thrown away."""

from __future__ import annotations

import sys
import time
from contextlib import suppress
from typing import IO, Any

_LOOK_AGAIN_S = 0.05


def typed_within(source: IO[Any] | int, seconds: float) -> bool:
    """Wait so long until there is something to read; raises OSError, ValueError without a terminal.

    Windows tells of a key only: the rest of its line is then waited for as it is read.
    """
    if sys.platform == "win32":
        import msvcrt

        until_s = time.monotonic() + seconds
        while not msvcrt.kbhit():
            if time.monotonic() >= until_s:
                return False
            time.sleep(_LOOK_AGAIN_S)
        return True
    else:
        import select

        return bool(select.select([source], [], [], seconds)[0])


def forget_typed() -> None:
    """A line typed too early or too late is no answer to the next prompt."""
    if sys.platform == "win32":
        import msvcrt

        while msvcrt.kbhit():
            msvcrt.getwch()
    else:
        import termios

        with suppress(termios.error, OSError, ValueError):
            termios.tcflush(sys.stdin.fileno(), termios.TCIFLUSH)
