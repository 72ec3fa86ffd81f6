"""Asking where the card rests: until it is understood, left out, or its time is over."""

from __future__ import annotations

from collections.abc import Sequence

from burnin.core.answers.reader import YES_NO, Said, is_back, read
from burnin.core.clock import Clock
from burnin.core.errors import BadInput
from burnin.core.meaning import Prompt
from burnin.core.reading import NotMeasured
from burnin.stages.context import Prompter
from burnin.stages.meanings import StagesPrompt, StagesReason

_MOST_TIMES = 5
"""Whatever answers so often without being understood is no person: nobody waits for its time."""


def ask_yes_no(
    prompter: Prompter, clock: Clock, prompt: Prompt, timeout_s: float
) -> bool | NotMeasured:
    """Whether somebody said yes; what is neither is asked again, never taken for a no."""
    said = ask_said(prompter, clock, prompt, timeout_s, YES_NO)
    return said if isinstance(said, NotMeasured) else said is Said.YES


def ask_said(
    prompter: Prompter,
    clock: Clock,
    prompt: Prompt,
    timeout_s: float,
    possible: Sequence[Said],
    more: dict[str, Said] | None = None,
) -> Said | NotMeasured:
    """Which of the possible answers somebody gave; leaving it out is one of them."""
    end_s, asked = clock.monotonic_s() + timeout_s, prompt
    for _ in range(_MOST_TIMES):
        answer = prompter.ask(asked, max(0.0, end_s - clock.monotonic_s()))
        if isinstance(answer, NotMeasured):
            return answer
        if is_back(answer):
            asked = StagesPrompt.AGAIN(words=StagesReason.NO_WAY_BACK(), prompt=prompt)
            continue
        try:
            said = read(answer, possible, more)
        except BadInput as error:
            asked = StagesPrompt.AGAIN(words=error.told, prompt=prompt)
            continue
        if said is Said.SKIP:
            return NotMeasured(StagesReason.PROMPT_LEFT_OUT())
        return said
    return NotMeasured(StagesReason.PROMPT_NOT_UNDERSTOOD(times_count=_MOST_TIMES))
