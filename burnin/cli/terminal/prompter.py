"""Prompts in the terminal: short, large, and timing out into 'not measured' (law 10)."""

from __future__ import annotations

import select
import sys
import time
from collections.abc import Callable

from burnin.core.events import Asked, Publish
from burnin.core.reading import NotMeasured


class TerminalPrompter:
    """Asks on the terminal; `before` takes the live line away first.

    `stop_asked` ends the waiting too: Ctrl-C must not have to wait for a prompt.
    """

    def __init__(
        self, publish: Publish, before: Callable[[], None], stop_asked: Callable[[], bool]
    ) -> None:
        self._publish, self._before, self._stop_asked = publish, before, stop_asked

    def ask(self, question: str, timeout_s: float) -> str | NotMeasured:
        """The line that the technician types, or NotMeasured after `timeout_s`."""
        self._before()
        sys.stdout.write(f"\a\n   >>> {question}  [{timeout_s:.0f} s] ")
        sys.stdout.flush()
        line = sys.stdin.readline() if self._answered(timeout_s) else ""
        if not line:
            sys.stdout.write("\n")
            self._publish(Asked("", question, ""))
            return NotMeasured(f"asked, and nobody answered within {timeout_s:.0f} s")
        self._publish(Asked("", question, line.strip()))
        return line.strip()


    def _answered(self, timeout_s: float) -> bool:
        """Whether something was typed in time; a signal does not end `select`, so it is short."""
        end_s = time.monotonic() + timeout_s
        while not self._stop_asked():
            left_s = end_s - time.monotonic()
            if left_s <= 0.0:
                return False
            ready, _, _ = select.select([sys.stdin], [], [], min(left_s, 0.2))
            if ready:
                return True
        return False


class NobodyThere:
    """Turns every prompt into 'not measured'."""

    def ask(self, question: str, timeout_s: float) -> str | NotMeasured:  # noqa: ARG002
        """Always NotMeasured."""
        return NotMeasured("unattended: nobody was there to move the cable")


class SaidBeforehand:
    """Answers whether a monitor is on an output from what was said on the command line.

    Used where the technician names the outputs that have a monitor, and by the simulated
    machine, whose monitors are in its scenario.
    """

    def __init__(self, outputs: frozenset[str], publish: Publish) -> None:
        self._outputs, self._publish = outputs, publish

    def ask(self, question: str, timeout_s: float) -> str | NotMeasured:  # noqa: ARG002
        """``yes`` if the question names one of the outputs, else ``no``."""
        words = question.replace(".", " ").split()
        answer = "yes" if any(word in self._outputs for word in words) else "no"
        self._publish(Asked("", question, answer))
        return answer
