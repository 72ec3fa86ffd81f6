"""Prompts in the terminal: short, large, and timing out into 'not measured' (law 10)."""

from __future__ import annotations

import contextlib
import select
import sys
import termios
import time
from collections.abc import Callable

from burnin.core.meaning import Meaning, Prompt
from burnin.core.reading import NotMeasured
from burnin.run.reasons import RunReason

_LOOK_EVERY_S = 0.2


class TerminalPrompter:
    """Asks on the terminal; `before` takes the live lines away first, `say` words a prompt.

    `stop_asked` ends the waiting too: Ctrl-C must not have to wait for a prompt, nor must an answer
    that was given elsewhere.
    """

    def __init__(
        self,
        say: Callable[[Meaning], str],
        before: Callable[[], None],
        stop_asked: Callable[[], bool],
    ) -> None:
        self._say, self._before, self._stop_asked = say, before, stop_asked

    def ask(self, prompt: Prompt, timeout_s: float) -> str | NotMeasured:
        """The line that the technician types, or NotMeasured after `timeout_s`."""
        self._before()
        sys.stdout.write(f"\a\n   >>> {self._say(prompt)}  [{timeout_s:.0f} s] ")
        sys.stdout.flush()
        line = sys.stdin.readline() if self._answered(timeout_s) else ""
        if not line:
            _forget_typed()
            sys.stdout.write("\n")
            return NotMeasured(RunReason.NOBODY_ANSWERED(waited_s=timeout_s))
        return line.strip()

    def _answered(self, timeout_s: float) -> bool:
        """Whether something was typed in time; a signal does not end `select`, so it is short."""
        end_s = time.monotonic() + timeout_s
        while not self._stop_asked():
            left_s = end_s - time.monotonic()
            if left_s <= 0.0:
                return False
            ready, _, _ = select.select([sys.stdin], [], [], min(left_s, _LOOK_EVERY_S))
            if ready:
                return True
        return False


def _forget_typed() -> None:
    """What was begun to be typed for this prompt is no answer to the next."""
    with contextlib.suppress(OSError, ValueError, termios.error):
        termios.tcflush(sys.stdin, termios.TCIFLUSH)
