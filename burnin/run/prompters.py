"""Who answers prompts where nobody sits at a terminal; and every answer on record."""

from __future__ import annotations

from collections.abc import Callable

from burnin.core.events import Asked, Publish
from burnin.core.meaning import Prompt
from burnin.core.reading import NotMeasured
from burnin.run.reasons import RunReason
from burnin.stages.context import Prompter
from burnin.stages.display.meanings import DisplayPrompt
from burnin.stages.meanings import StagesReason
from burnin.stages.standing_prompt import AsksWhileWorking, Settled, StandingPrompt

_NOBODY = Settled(NotMeasured(RunReason.NOBODY_AT_HAND()))


class NobodyThere:
    """Turns every prompt into 'not measured'."""

    def ask(self, prompt: Prompt, timeout_s: float) -> str | NotMeasured:  # noqa: ARG002
        """Always NotMeasured."""
        return NotMeasured(RunReason.UNATTENDED())

    def put(self, prompt: Prompt, timeout_s: float) -> StandingPrompt:  # noqa: ARG002
        """A prompt that is over at once."""
        return _NOBODY


class SaidBeforehand:
    """Knows which outputs have a monitor, and answers ``no`` to everything else.

    Used where the technician names those outputs beforehand, and with the simulated machine, whose
    monitors are in its scenario.
    """

    def __init__(self, outputs: frozenset[str]) -> None:
        self._outputs = outputs

    def ask(self, prompt: Prompt, timeout_s: float) -> str | NotMeasured:  # noqa: ARG002
        """``yes`` where the prompt is about one of the outputs with a monitor, else ``no``.

        What is seen on its screen nobody has said beforehand.
        """
        if prompt.means(DisplayPrompt.PICTURE):
            return NotMeasured(RunReason.NOBODY_AT_HAND())
        monitor = prompt.means(DisplayPrompt.CONNECT_MONITOR)
        return "yes" if monitor and prompt["output"] in self._outputs else "no"

    def put(self, prompt: Prompt, timeout_s: float) -> StandingPrompt:  # noqa: ARG002
        """Whoever said beforehand what is plugged in need not be there with their hands."""
        return _NOBODY


class OnRecord:
    """Lets another prompter ask for a stage, and publishes what was asked and answered."""

    def __init__(self, asks: Prompter, stage: str, publish: Publish) -> None:
        self._asks, self._stage, self._publish = asks, stage, publish

    def ask(self, prompt: Prompt, timeout_s: float) -> str | NotMeasured:
        """The other's answer; an empty one on record where nobody answered in time."""
        answer = self._asks.ask(prompt, timeout_s)
        self._record(prompt, answer)
        return answer

    def put(self, prompt: Prompt, timeout_s: float) -> StandingPrompt:
        """The other's prompt, on record with its answer, or with none where it ends without."""
        if not isinstance(self._asks, AsksWhileWorking):
            return Settled(NotMeasured(StagesReason.PROMPT_CANNOT_STAND()))
        stands = self._asks.put(prompt, timeout_s)
        return _StandsOnRecord(stands, lambda answer: self._record(prompt, answer))

    def _record(self, prompt: Prompt, answer: str | NotMeasured) -> None:
        if not isinstance(answer, NotMeasured):
            self._publish(Asked(self._stage, prompt, answer))
        elif not answer.reason.means(*_NOT_ASKED):
            self._publish(Asked(self._stage, prompt, ""))


_NOT_ASKED = (
    RunReason.UNATTENDED, RunReason.NOBODY_AT_HAND, StagesReason.PROMPT_CANNOT_STAND,
)  # fmt: skip


class _StandsOnRecord:
    """A prompt that goes on record once, when it ends."""

    def __init__(
        self, stands: StandingPrompt, record: Callable[[str | NotMeasured], None]
    ) -> None:
        self._stands, self._record = stands, record
        self._open = True
        self._hear: Callable[[str], None] | None = None

    def before_record(self, hear: Callable[[str], None]) -> None:
        """Whoever asked hears an answer before it is on record."""
        self._hear = hear

    def look(self) -> str | NotMeasured | None:
        """What the prompt gives."""
        answer = self._stands.look()
        if answer is not None and self._open:
            self._open = False
            if self._hear is not None and not isinstance(answer, NotMeasured):
                self._hear(answer)
            self._record(answer)
        return answer

    def withdraw(self) -> None:
        """Asked, and not answered."""
        self._stands.withdraw()
        if self._open:
            self._open = False
            self._record("")
