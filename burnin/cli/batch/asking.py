"""Prompts of a card's run, asked by the keeper of its batch: one at a time over all cards."""

from __future__ import annotations

from collections.abc import Callable
from itertools import count

from burnin.core.meaning import Prompt
from burnin.core.reading import NotMeasured
from burnin.run.leave.letters import Wants, WantsNoMore
from burnin.run.leave.of_batch import OfBatch
from burnin.run.reasons import RunReason

_LOOK_EVERY_S = 0.1


class AsksKeeper:
    """Answers `Prompter`; a prompt's time runs from the moment at which it is shown.

    None stands while the card works: it would wait behind the prompts of others, its load on.
    """

    def __init__(self, keeper: OfBatch, stop_asked: Callable[[], bool]) -> None:
        self._keeper, self._stop_asked = keeper, stop_asked
        self._numbers = count(1)

    def ask(self, prompt: Prompt, timeout_s: float) -> str | NotMeasured:
        """The answer that the keeper was given, or why there is none."""
        number = next(self._numbers)
        self._keeper.send(Wants(number, prompt, timeout_s))
        while not self._stop_asked():
            over, text = self._keeper.prompt_answer(number, _LOOK_EVERY_S)
            if over:
                if text is not None:
                    return text
                return NotMeasured(RunReason.NOBODY_ANSWERED(waited_s=timeout_s))
        self._keeper.send(WantsNoMore(number))
        return NotMeasured(RunReason.NOBODY_ANSWERED(waited_s=timeout_s))
