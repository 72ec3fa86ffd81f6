"""The prompts that stand open: each with its number, and the answer that it got first."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable

from burnin.core.meaning import Reason
from burnin.run.desk.letters import MOST_ANSWER
from burnin.run.desk.meanings import DeskReason

_LOOK_EVERY_S = 0.2


class OpenPrompts:
    """What is open may be looked at from any thread, and never makes anybody wait."""

    def __init__(self) -> None:
        self._changed = threading.Condition()
        self._answers: dict[int, str | None] = {}
        self._last = 0

    def begin_after(self, number: int) -> None:
        """Numbers up to this one are those of a run that was cut, which this one goes on with."""
        with self._changed:
            self._last = max(self._last, number)

    def open(self) -> int:
        """Number of a prompt that is open from now; no number comes twice in a run."""
        with self._changed:
            self._last += 1
            self._answers[self._last] = None
            return self._last

    def answer(self, number: int, text: str) -> Reason | None:
        """Give an answer; why it is refused, None where it is the one that counts."""
        said = " ".join(text.split())
        if not said or not said.isprintable():
            return DeskReason.ANSWER_EMPTY()
        if len(said) > MOST_ANSWER:
            return DeskReason.ANSWER_TOO_LONG(most_count=MOST_ANSWER)
        with self._changed:
            if self._answers.get(number, "") is not None:
                return DeskReason.NOT_OPEN(number=number)
            self._answers[number] = said
            self._changed.notify_all()
        return None

    def given(self, number: int) -> str | None:
        """The answer so far, None where there is none."""
        with self._changed:
            return self._answers.get(number)

    def is_any_answered(self) -> bool:
        """Whether somebody who waits for another answer need wait no longer."""
        with self._changed:
            return any(answer is not None for answer in self._answers.values())

    def close(self, number: int) -> str | None:
        """No answer counts any more from now; the one that came, None where none did."""
        with self._changed:
            return self._answers.pop(number, None)

    def wait(self, number: int, seconds: float, given_up: Callable[[], bool]) -> None:
        """Until there is an answer, the time is over, or `given_up` says so."""
        end_s = time.monotonic() + seconds
        with self._changed:
            while self._answers.get(number, "") is None and not given_up():
                left_s = end_s - time.monotonic()
                if left_s <= 0.0:
                    return
                self._changed.wait(min(left_s, _LOOK_EVERY_S))
