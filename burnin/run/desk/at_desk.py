"""Prompters before the desk: what another asks may be answered there too, or there alone."""

from __future__ import annotations

from collections.abc import Callable

from burnin.core.meaning import Prompt, Reason
from burnin.core.reading import NotMeasured
from burnin.run.desk.desk import AT_TERMINAL, Desk
from burnin.run.reasons import RunReason
from burnin.stages.context import Prompter


class AtDesk:
    """Lets another prompter ask while the prompt lies at the desk; the first answer counts.

    The other one looks at `Desk.disturbs` while it waits, and gives up where that says so.
    """

    def __init__(self, asks: Prompter, desk: Desk) -> None:
        self._asks, self._desk = asks, desk

    def ask(self, prompt: Prompt, timeout_s: float) -> str | NotMeasured:
        """The answer, wherever it came from, or why there is none."""
        if not self._desk.listens:
            return self._asks.ask(prompt, timeout_s)
        number, answer = self._desk.put(prompt, timeout_s), None
        try:
            answer = self._asks.ask(prompt, timeout_s)
        finally:
            answered = answer is not None and not isinstance(answer, NotMeasured)
            given = self._desk.take(number, AT_TERMINAL if answered else "")
        return given if given is not None else answer


class DeskAlone:
    """Asks at the desk and nowhere else; nobody is there where the desk does not listen."""

    def __init__(self, desk: Desk, stop_asked: Callable[[], bool | Reason]) -> None:
        self._desk, self._stop_asked = desk, stop_asked

    def ask(self, prompt: Prompt, timeout_s: float) -> str | NotMeasured:
        """The answer that came to the desk, or NotMeasured after `timeout_s`."""
        if not self._desk.listens:
            return NotMeasured(RunReason.UNATTENDED())
        desk = self._desk
        number = desk.put(prompt, timeout_s)
        try:
            desk.prompts.wait(
                number, timeout_s, lambda: desk.stop_asked() or bool(self._stop_asked())
            )
        finally:
            given = desk.take(number)
        if given is None:
            return NotMeasured(RunReason.NOBODY_ANSWERED(waited_s=timeout_s))
        return given
