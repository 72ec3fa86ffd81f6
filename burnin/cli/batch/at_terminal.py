"""Prompts of a batch at the terminal: the card is named above each, and one stands at a time."""

from __future__ import annotations

import sys
import threading
from typing import Protocol

from burnin.cli.batch.row import card_text
from burnin.cli.batch.terms import BatchLine
from burnin.cli.terminal.prompter import TerminalPrompter
from burnin.core.meaning import Prompt
from burnin.core.reading import NotMeasured
from burnin.report.languages.catalogue import Catalogue
from burnin.run.batch.member import Member


class Pauses(Protocol):
    """A screen that can leave its foot to a prompt."""

    def pause(self) -> None:
        """Draw nothing until `go_on`."""
        ...

    def go_on(self) -> None:
        """Draw again."""
        ...


class AsksAtTerminal:
    """Answers `burnin.run.batch.people.AsksPeople`; a thread waits for what is typed.

    `screens`: by address of a card, its outputs on which a screen was seen before the batch began.
    """

    def __init__(
        self,
        words: Catalogue,
        screen: Pauses,
        screens: dict[str, tuple[str, ...]],
    ) -> None:
        self._words, self._screen, self._screens = words, screen, screens
        self._withdrawn = threading.Event()
        self._answer: str | None = None
        self._thread: threading.Thread | None = None

    def ask(self, member: Member, prompt: Prompt, timeout_s: float) -> None:
        """Show which card it is, then the prompt."""
        self._withdrawn.clear()
        self._answer = None
        self._thread = threading.Thread(
            target=self._wait, args=(member, prompt, timeout_s), name="prompt", daemon=True
        )
        self._thread.start()

    def answer(self) -> tuple[bool, str | None]:
        """Whether the prompt is over, and its answer."""
        over = self._thread is None or not self._thread.is_alive()
        return over, self._answer if over else None

    def withdraw(self) -> None:
        """The prompt goes at the next look, and answers nothing."""
        self._withdrawn.set()

    def _wait(self, member: Member, prompt: Prompt, timeout_s: float) -> None:
        self._screen.pause()
        try:
            seen = self._screens.get(member.address, ())
            told = BatchLine.ASKED_FOR(
                card=card_text(member.card, self._words),
                screens=", ".join(seen) or self._words.say(BatchLine.NO_SCREEN()),
            )
            sys.stdout.write(f"\n{self._words.say(told)}\n")
            sys.stdout.flush()
            asks = TerminalPrompter(self._words.say, lambda: None, self._withdrawn.is_set)
            answer = asks.ask(prompt, timeout_s)
            self._answer = None if isinstance(answer, NotMeasured) else answer
        except OSError:
            self._answer = None  # nobody sits there any more
        finally:
            self._screen.go_on()
