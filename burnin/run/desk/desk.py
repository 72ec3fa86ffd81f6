"""A run's desk while it goes on: what is open there, what was asked for, what is put on record."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from burnin.core.events import (
    Event,
    Noted,
    PromptClosed,
    PromptOpened,
    Publish,
    RunStarted,
    StageStarted,
)
from burnin.core.meaning import Prompt, Reason
from burnin.guard.meanings import GuardReason
from burnin.run.desk.letters import Answer, Letter
from burnin.run.desk.listening import Listening
from burnin.run.desk.meanings import DeskNote, DeskReason
from burnin.run.desk.prompts import OpenPrompts

AT_PAGE, AT_TERMINAL = "page", "terminal"
"""Where a prompt was answered, as `PromptClosed.by` tells it."""


class Desk:
    """One a run. A prompt may be opened, looked at and closed without waiting for anybody."""

    def __init__(self) -> None:
        self.prompts = OpenPrompts()
        self._stop = threading.Event()
        self._stop_told = False
        self._publish: Publish = _nobody
        self._stage = ""
        self.listens = False

    def stop_asked(self) -> bool:
        """Whether somebody at the desk wants the run to end."""
        return self._stop.is_set()

    def disturbs(self) -> bool:
        """Whether whoever waits for an answer elsewhere should look here."""
        return self._stop.is_set() or self.prompts.is_any_answered()

    def put(self, prompt: Prompt, timeout_s: float) -> int:
        """Open a prompt, on record when this returns; its number."""
        number = self.prompts.open()
        self._publish(PromptOpened(self._stage, number, prompt, timeout_s))
        return number

    def take(self, number: int, by: str = "") -> str | None:
        """Close a prompt; the answer that came here. `by`: where one came that is not from here."""
        given = self.prompts.close(number)
        self._publish(PromptClosed(self._stage, number, by if given is None else AT_PAGE))
        return given

    @contextmanager
    def open(self, folder: Path, publish: Publish, asked_count: int = 0) -> Iterator[Publish]:
        """Listen while inside; what the run publishes goes through what is given.

        `asked_count`: prompts that are on record already; an answer to one of them that is still
        shown somewhere is none to a prompt of now. Where nobody can be heard the record names it,
        and the run goes on.
        """
        self.prompts.begin_after(asked_count)
        listening, why = None, ""
        try:
            listening = Listening(folder, self.hear)
        except OSError as error:
            why = error.strerror or str(error)
        except RuntimeError as error:  # no further thread
            why = str(error)
        self._publish, self.listens = publish, listening is not None

        def tell(event: Event) -> None:
            publish(event)
            if isinstance(event, StageStarted):
                self._stage = event.stage
            elif isinstance(event, RunStarted) and why:
                publish(Noted("", DeskNote.NOT_OPENED(words=why)))

        try:
            yield tell
        finally:
            self._publish, self.listens = _nobody, False
            if listening is not None:
                with contextlib.suppress(OSError):
                    listening.close()

    def hear(self, letter: Letter) -> Reason | None:
        """Do what a letter asks for; why it is refused, None where it is done."""
        if isinstance(letter, Answer):
            if self._stop.is_set():  # whoever asked for the end wants no more done
                return DeskReason.NOT_OPEN(number=letter.number)
            return self.prompts.answer(letter.number, letter.text)
        self._stop.set()
        return None

    def or_asked(self, stop_asked: Callable[[], bool | Reason]) -> Callable[[], bool | Reason]:
        """Whether the run is to end, by `stop_asked` or by the desk; that of the desk is noted."""

        def why() -> bool | Reason:
            asked = stop_asked()
            if asked or not self._stop.is_set():
                return asked
            if not self._stop_told:
                self._stop_told = True
                self._publish(Noted(self._stage, DeskNote.STOP_ASKED()))
            return GuardReason.STOPPED_BY_HAND()

        return why


def _nobody(_: Event) -> None:
    """No run is going on: nothing to put on record."""
