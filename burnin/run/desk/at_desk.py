"""Prompters before the desk: what another asks may be answered there too, or there alone."""

from __future__ import annotations

from collections.abc import Callable

from burnin.core.meaning import Prompt, Reason
from burnin.core.reading import NotMeasured
from burnin.run.desk.desk import AT_TERMINAL, Desk
from burnin.run.reasons import RunReason
from burnin.stages.context import Prompter
from burnin.stages.standing_prompt import AsksWhileWorking, Settled, StandingPrompt


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


    def put(self, prompt: Prompt, timeout_s: float) -> StandingPrompt:
        """The prompt stands at both places; where the other cannot let one stand, here alone."""
        asks = self._asks
        stands = asks.put(prompt, timeout_s) if isinstance(asks, AsksWhileWorking) else None
        if self._desk.listens:
            return _StandsAtDesk(self._desk, self._desk.put(prompt, timeout_s), stands)
        return stands or Settled(NotMeasured(RunReason.UNATTENDED()))


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

    def put(self, prompt: Prompt, timeout_s: float) -> StandingPrompt:
        """A prompt that stands at the desk."""
        if not self._desk.listens:
            return Settled(NotMeasured(RunReason.UNATTENDED()))
        return _StandsAtDesk(self._desk, self._desk.put(prompt, timeout_s))


class _StandsAtDesk:
    """A prompt that lies at the desk, and may stand elsewhere too; the first answer counts.

    Where the other place can answer no more, as a terminal that was closed, it still stands here.
    """

    def __init__(self, desk: Desk, number: int, elsewhere: StandingPrompt | None = None) -> None:
        self._desk, self._number, self._elsewhere = desk, number, elsewhere
        self._end: str | None = None
        self._open = True

    def look(self) -> str | NotMeasured | None:
        """The first answer; None while there is none."""
        if not self._open:
            return self._end
        there = self._elsewhere.look() if self._elsewhere is not None else None
        if isinstance(there, NotMeasured):
            self._elsewhere = there = None
        if there is not None or self._desk.prompts.given(self._number) is not None:
            self._close(there)
        return self._end

    def withdraw(self) -> None:
        """Nobody is to answer it any more."""
        if self._open:
            self._close(None)

    def _close(self, there: str | None) -> None:
        self._open = False
        given = self._desk.take(self._number, "" if there is None else AT_TERMINAL)
        self._end = there if given is None else given
        if there is None and self._elsewhere is not None:
            self._elsewhere.withdraw()
