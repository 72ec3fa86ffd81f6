"""A card whose every answer comes in time, or is 'not measured' with the reason.

A driver that hangs makes the read of a small file, or a call of its library, block for seconds or
for ever; no time limit can be set on either. So each question is asked in a thread kept for that:
where no answer comes in time, whoever asked goes on, and the load can be ended. While the thread
still hangs, further questions are answered at once in the same way.
"""

from __future__ import annotations

import threading
import weakref
from collections.abc import Callable
from queue import SimpleQueue
from typing import Any, Protocol, cast, runtime_checkable

from burnin.card.absent import AbsentCard
from burnin.card.capabilities import Card
from burnin.card.meanings import CardReason
from burnin.core.clock import Clock
from burnin.core.identity import Identity

UNDER_LOAD_S = 0.5
"""A card at work that tells nothing for so long is worked no further (law 18)."""
OPENING_S = 10.0
"""Before a run begins: a driver that was asleep may take its time to load."""
AT_REST_S = 2.0
"""Without a load there is time: a card that sleeps may need a second to wake."""
_STEP_S = 0.05
"""The wait is counted in steps of this, so that a bench which let nobody run is not taken for a
card that hangs."""


@runtime_checkable
class KnowsLoad(Protocol):
    """A card that must answer faster while it works."""

    def load_is_on(self, on: bool) -> None:
        """Whether a load is on from now."""
        ...


class Patience:
    """How long the cards of a bench may take to answer; shared by all of them."""

    def __init__(self) -> None:
        self.seconds = OPENING_S


class SilentCard(AbsentCard):
    """In a card's place while its driver hangs. Nothing says that it is gone."""

    def __init__(self, seconds: float, identity: Identity | None) -> None:
        super().__init__(CardReason.NO_ANSWER(seconds=seconds))
        self._identity = identity

    def identity(self) -> Identity:
        """Who it was when it last told; raises NoCard where it never has."""
        return super().identity() if self._identity is None else self._identity

    def present(self) -> bool:
        """As far as anybody knows."""
        return True


class _Question:
    """A call to be made in the reading thread; `answered` is held until it has returned."""

    def __init__(self, call: Callable[[], Any]) -> None:
        self.call = call
        self.answered = threading.Lock()
        self.answered.acquire()
        self.answer: Any = None
        self.error: BaseException | None = None


def _answer_all(questions: SimpleQueue[_Question | None]) -> None:
    while (question := questions.get()) is not None:
        try:
            question.answer = question.call()
        except BaseException as error:  # whoever asked gets it
            question.error = error
        question.answered.release()


class AnswersInTime:
    """Stands before a card: the same methods, each with a time limit."""

    def __init__(self, card: Card, clock: Clock, patience: Patience | None = None) -> None:
        self._card, self._clock = card, clock
        self._patience = patience or Patience()
        self._identity: Identity | None = None
        self._hangs: _Question | None = None
        self._waited_s = 0.0
        self._questions: SimpleQueue[_Question | None] | None = None

    def load_is_on(self, on: bool) -> None:
        """From now on the card is at work, or no longer."""
        self._patience.seconds = UNDER_LOAD_S if on else AT_REST_S

    def __getattr__(self, name: str) -> Any:
        there = getattr(self._card, name)
        if name.startswith("_") or not callable(there):
            return there

        def ask(*given: Any) -> Any:
            return self._ask(name, lambda: there(*given), given)

        return ask

    def _ask(self, name: str, call: Callable[[], Any], given: tuple[Any, ...]) -> Any:
        allowed_s, began_s = self._patience.seconds, self._clock.monotonic_s()
        question = self._asked(call, allowed_s)
        # By the bench's own clock too: what came too late says nothing of now.
        if question is None or self._clock.monotonic_s() - began_s > allowed_s:
            waited_s = self._waited_s if question is None else allowed_s
            return getattr(SilentCard(waited_s, self._identity), name)(*given)
        if question.error is not None:
            raise question.error
        if name == "identity":
            self._identity = question.answer
        return question.answer

    def _asked(self, call: Callable[[], Any], allowed_s: float) -> _Question | None:
        """The question with its answer; None where there is none in time."""
        if self._hangs is not None:
            if not self._hangs.answered.acquire(blocking=False):
                return None
            self._hangs = None
        if self._questions is None:
            self._questions = SimpleQueue()
            threading.Thread(
                target=_answer_all, args=(self._questions,), name="reads the card", daemon=True
            ).start()
            weakref.finalize(self, self._questions.put, None)
        question = _Question(call)
        self._questions.put(question)
        for _ in range(max(1, round(allowed_s / _STEP_S))):
            if question.answered.acquire(timeout=_STEP_S):
                return question
        self._hangs, self._waited_s = question, allowed_s
        return None


def answering_in_time(card: Card, clock: Clock, patience: Patience) -> Card:
    """The card, asked with a time limit."""
    return cast(Card, AnswersInTime(card, clock, patience))
