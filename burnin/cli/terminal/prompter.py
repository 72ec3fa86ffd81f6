"""Prompts in the terminal: short, large, and timing out into 'not measured' (law 10).

A prompt may stand while a load works (`put`): then what was typed is looked at between samples, and
the lines that change all the while rest until it is over, so that what is typed stays to be seen.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable
from contextlib import suppress

from burnin.cli.terminal.keys import forget_typed, typed_within
from burnin.cli.terminal.prompt_block import BELL, look_of_output, prompt_block
from burnin.core.meaning import Meaning, Prompt
from burnin.core.reading import NotMeasured
from burnin.run.reasons import RunReason
from burnin.stages.standing_prompt import StandingPrompt

_LOOK_EVERY_S = 0.2
_MOST_BYTES = 4096


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
        keep_below: Callable[[str], None] = lambda _: None,
    ) -> None:
        """`keep_below` keeps a block below all that is printed; empty: no longer."""
        self._say, self._before, self._stop_asked = say, before, stop_asked
        self._keep_below = keep_below

    def ask(self, prompt: Prompt, timeout_s: float) -> str | NotMeasured:
        """The line that the technician types, or NotMeasured after `timeout_s`."""
        self._before()
        _show(self._block(prompt, timeout_s))
        line = sys.stdin.readline() if self._answered(timeout_s) else ""
        if not line:
            forget_typed()
            sys.stdout.write("\n")
            return NotMeasured(RunReason.NOBODY_ANSWERED(waited_s=timeout_s))
        return line.strip()

    def put(self, prompt: Prompt, timeout_s: float) -> StandingPrompt:
        """A prompt that stands until a line is typed; what was typed before it answers nothing."""
        block = self._block(prompt, timeout_s)
        self._keep_below(block)
        forget_typed()
        _show(block)
        return _Typed(self._keep_below)

    def _block(self, prompt: Prompt, timeout_s: float) -> str:
        return prompt_block(prompt, self._say, look_of_output(), timeout_s)

    def _answered(self, timeout_s: float) -> bool:
        """Whether something was typed in time; a signal does not end `select`, so it is short."""
        end_s = time.monotonic() + timeout_s
        while not self._stop_asked():
            left_s = end_s - time.monotonic()
            if left_s <= 0.0:
                return False
            ready = typed_within(sys.stdin, min(left_s, _LOOK_EVERY_S))
            if ready:
                return True
        return False


class _Typed:
    """What is typed while a prompt stands, read as it comes: nobody waits for half a line."""

    def __init__(self, keep_below: Callable[[str], None]) -> None:
        self._keep_below = keep_below
        self._typed = b""
        self._open = True

    def look(self) -> str | NotMeasured | None:
        """The line, once its end is typed; a terminal that is gone answers nothing any more."""
        file = sys.stdin.fileno()
        ready = typed_within(file, 0.0)
        if not ready:
            return None
        with suppress(OSError):
            more = os.read(file, _MOST_BYTES)
            self._typed += more
            if more and b"\n" not in self._typed and len(self._typed) < _MOST_BYTES:
                return None
        self._over()
        if not self._typed:
            return NotMeasured(RunReason.NOBODY_AT_HAND())
        return self._typed.split(b"\n")[0].decode("utf-8", "replace").strip()

    def withdraw(self) -> None:
        """No longer asked."""
        if self._open:
            _show("", bell=False)
        self._over()

    def _over(self) -> None:
        self._open = False
        self._keep_below("")


def _show(text: str, *, bell: bool = True) -> None:
    with suppress(OSError, ValueError):
        sys.stdout.write(f"{BELL}\n{text}" if bell and sys.stdout.isatty() else f"\n{text}")
        sys.stdout.flush()
