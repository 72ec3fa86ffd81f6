"""Who answers prompts where nobody sits at a terminal; and every answer on record."""

from __future__ import annotations

from burnin.core.events import Asked, Publish
from burnin.core.meaning import Prompt
from burnin.core.reading import NotMeasured
from burnin.run.reasons import RunReason
from burnin.stages.context import Prompter
from burnin.stages.display.meanings import DisplayPrompt


class NobodyThere:
    """Turns every prompt into 'not measured'."""

    def ask(self, prompt: Prompt, timeout_s: float) -> str | NotMeasured:  # noqa: ARG002
        """Always NotMeasured."""
        return NotMeasured(RunReason.UNATTENDED())


class SaidBeforehand:
    """Knows which outputs have a monitor, and answers ``no`` to everything else.

    Used where the technician names those outputs beforehand, and with the simulated machine, whose
    monitors are in its scenario.
    """

    def __init__(self, outputs: frozenset[str]) -> None:
        self._outputs = outputs

    def ask(self, prompt: Prompt, timeout_s: float) -> str | NotMeasured:  # noqa: ARG002
        """``yes`` where the prompt is about one of the outputs with a monitor, else ``no``."""
        monitor = prompt.means(DisplayPrompt.CONNECT_MONITOR)
        return "yes" if monitor and prompt["output"] in self._outputs else "no"


class OnRecord:
    """Lets another prompter ask for a stage, and publishes what was asked and answered."""

    def __init__(self, asks: Prompter, stage: str, publish: Publish) -> None:
        self._asks, self._stage, self._publish = asks, stage, publish

    def ask(self, prompt: Prompt, timeout_s: float) -> str | NotMeasured:
        """The other's answer; an empty one on record where nobody answered in time."""
        answer = self._asks.ask(prompt, timeout_s)
        if not isinstance(answer, NotMeasured):
            self._publish(Asked(self._stage, prompt, answer))
        elif not answer.reason.means(RunReason.UNATTENDED):
            self._publish(Asked(self._stage, prompt, ""))
        return answer
