"""A prompt that stands open while a load works: looked at between samples, never waited for.

A load needs its next guarded sample within a quarter of a second, and a person takes many. So a
prompt is put, each sample looks once whether it was answered, and it is over with an answer, with
its time, or with the load.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Generic, Protocol, TypeVar, runtime_checkable

from burnin.core.answers.reader import is_back, is_skip
from burnin.core.clock import Clock
from burnin.core.errors import BadInput
from burnin.core.meaning import Prompt, Reason
from burnin.core.reading import NotMeasured
from burnin.stages.meanings import StagesPrompt, StagesReason

T = TypeVar("T")


class StandingPrompt(Protocol):
    """One prompt as it stands before somebody."""

    def look(self) -> str | NotMeasured | None:
        """The answer, why there will be none, or None while it stands; returns at once."""
        ...

    def withdraw(self) -> None:
        """Take it away: nobody is to answer it any more."""
        ...


@runtime_checkable
class AsksWhileWorking(Protocol):
    """A prompter whose prompts may stand open while a load works."""

    def put(self, prompt: Prompt, timeout_s: float) -> StandingPrompt:
        """Put a prompt and return at once; `timeout_s` is told, whoever put it counts it."""
        ...


@runtime_checkable
class TellsBefore(Protocol):
    """A prompt whose answer goes on record, and which somebody hears before that."""

    def before_record(self, hear: Callable[[str], None]) -> None:
        """`hear` is called with the answer before it is on record."""
        ...


class Settled:
    """A prompt that was settled before it was put, as where nobody is there."""

    def __init__(self, answer: str | NotMeasured) -> None:
        self._answer = answer

    def look(self) -> str | NotMeasured | None:
        """Always the same."""
        return self._answer

    def withdraw(self) -> None:
        """Nothing stands."""


class Question(Generic[T]):
    """A prompt with what its answer is read as; what is not understood is asked once more.

    `read` makes a value of the line and raises BadInput that says what is wrong with it. `first`
    hears the value before the answer is on record, where the prompt lets it, so that a run which is
    cut between the two has no answer without what came of it.
    """

    def __init__(
        self,
        asks: object,
        clock: Clock,
        prompt: Prompt,
        timeout_s: float,
        read: Callable[[str], T],
        first: Callable[[T], None] | None = None,
    ) -> None:
        self._first = first
        self._asks, self._clock, self._read = asks, clock, read
        self.prompt, self._timeout_s = prompt, timeout_s
        self._began_s = clock.monotonic_s()
        self._stands: StandingPrompt | None = None
        self._end: T | NotMeasured | None = None
        self._put(prompt)

    def look(self) -> T | NotMeasured | None:
        """The value, why there is none, or None while the prompt stands; returns at once."""
        if self._stands is None:
            return self._end
        answer = self._stands.look()
        if isinstance(answer, NotMeasured):
            return self._over(answer)
        if answer is not None:
            return self._answered(answer)
        if self._left_s() <= 0.0:
            self._stands.withdraw()
            waited_s = self._timeout_s
            return self._over(NotMeasured(StagesReason.PROMPT_TIMED_OUT(waited_s=waited_s)))
        return None

    @property
    def stood_s(self) -> float:
        """How long ago it was first put."""
        return self._clock.monotonic_s() - self._began_s

    def withdraw(self, why: Reason) -> T | NotMeasured:
        """Take the prompt away, as where the load ends; what it gave by then."""
        if self._stands is not None:
            self._stands.withdraw()
            self._over(NotMeasured(StagesReason.PROMPT_WITHDRAWN(reason=why)))
        assert self._end is not None  # a prompt that stands no longer has come to its end
        return self._end

    def _answered(self, answer: str) -> T | NotMeasured | None:
        if is_skip(answer):
            return self._over(NotMeasured(StagesReason.PROMPT_SKIPPED()))
        if is_back(answer):
            self._put(StagesPrompt.AGAIN(words=StagesReason.NO_WAY_BACK(), prompt=self.prompt))
            return None
        try:
            return self._over(self._read(answer))
        except BadInput as error:
            self._put(StagesPrompt.AGAIN(words=error.told, prompt=self.prompt))
            return None

    def _put(self, prompt: Prompt) -> None:
        if not isinstance(self._asks, AsksWhileWorking):
            self._over(NotMeasured(StagesReason.PROMPT_CANNOT_STAND()))
            return
        self._stands = self._asks.put(prompt, max(0.0, self._left_s()))
        if self._first is not None and isinstance(self._stands, TellsBefore):
            self._stands.before_record(self._hear)

    def _hear(self, answer: str) -> None:
        if self._first is None or is_skip(answer):
            return
        try:
            value = self._read(answer)
        except BadInput:  # told as it is asked again
            return
        self._first(value)

    def _left_s(self) -> float:
        return self._timeout_s - (self._clock.monotonic_s() - self._began_s)

    def _over(self, end: T | NotMeasured) -> T | NotMeasured:
        self._stands, self._end = None, end
        return end
