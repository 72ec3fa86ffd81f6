"""Prompts of a batch at the terminal: the card is named above each, and one stands at a time."""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Protocol

from burnin.cli.batch.row import card_text
from burnin.cli.batch.terms import BatchLine
from burnin.cli.terminal.keys import forget_typed
from burnin.cli.terminal.prompter import TerminalPrompter
from burnin.core.meaning import Meaning, Prompt
from burnin.core.reading import NotMeasured
from burnin.report.languages.catalogue import Catalogue
from burnin.run.batch.member import Member

_SETTLE_S = 1.5
"""So soon after a prompt took another one's place nobody has read it and answered it."""


class Pauses(Protocol):
    """A screen that can leave its foot to a prompt."""

    def pause(self) -> None:
        """Draw nothing until `go_on`."""
        ...

    def go_on(self) -> None:
        """Draw again."""
        ...


@dataclass
class _Put:
    """One prompt that was put: whose, whether it was taken away, its answer.

    `instead_of`: the card whose prompt was taken away from under the hands before this one.
    """

    member: Member
    prompt: Prompt
    timeout_s: float
    instead_of: str = ""
    withdrawn: threading.Event = field(default_factory=threading.Event)
    answer: str | None = None


class AsksAtTerminal:
    """Answers `burnin.run.batch.people.AsksPeople`; a thread waits for what is typed.

    `screens`: by address of a card, its outputs on which a screen was seen before the batch began.
    `now_s`: by which clock it is told how soon after its prompt an answer came.
    """

    def __init__(
        self,
        words: Catalogue,
        screen: Pauses,
        screens: dict[str, tuple[str, ...]],
        now_s: Callable[[], float] = time.monotonic,
    ) -> None:
        self._words, self._screen, self._screens = words, screen, screens
        self._now_s = now_s
        self._put: _Put | None = None
        self._thread: threading.Thread | None = None

    def ask(self, member: Member, prompt: Prompt, timeout_s: float) -> None:
        """Show which card it is, then the prompt, once the one before has gone."""
        before, thread = self._put, self._thread
        taken_away = before is not None and before.withdrawn.is_set()
        instead_of = card_text(before.member.card, self._words) if before and taken_away else ""
        self._put = _Put(member, prompt, timeout_s, instead_of)
        self._thread = threading.Thread(
            target=self._wait, args=(self._put, thread), name="prompt", daemon=True
        )
        self._thread.start()

    def answer(self) -> tuple[bool, str | None]:
        """Whether the prompt is over, and its answer."""
        over = self._thread is None or not self._thread.is_alive()
        return over, self._put.answer if over and self._put is not None else None

    def withdraw(self) -> None:
        """The prompt goes at the next look, and answers nothing."""
        if self._put is not None:
            self._put.withdrawn.set()

    def _wait(self, put: _Put, before: threading.Thread | None) -> None:
        if before is not None:
            before.join()  # it looks up within a moment, or has its answer
        self._screen.pause()
        try:
            self._ask(put)
        except OSError:
            put.answer = None  # nobody sits there any more
        finally:
            self._screen.go_on()

    def _ask(self, put: _Put) -> None:
        """What is typed for this prompt; what was typed before it stood, or too soon, is not."""
        asks = TerminalPrompter(self._words.say, lambda: None, put.withdrawn.is_set)
        end_s = time.monotonic() + put.timeout_s
        seen = self._screens.get(put.member.address, ())
        told = BatchLine.ASKED_FOR(
            card=card_text(put.member.card, self._words),
            screens=", ".join(seen) or self._words.say(BatchLine.NO_SCREEN()),
        )
        forget_typed()
        while True:
            self._line(told)
            shown_s = self._now_s()
            answer = asks.ask(put.prompt, max(0.0, end_s - time.monotonic()))
            if isinstance(answer, NotMeasured) or put.withdrawn.is_set():
                return
            if not put.instead_of or self._now_s() - shown_s >= _SETTLE_S:
                put.answer = answer
                return
            self._line(BatchLine.ANSWERED_ELSEWHERE(card=put.instead_of))
            put.instead_of = ""

    def _line(self, meaning: Meaning) -> None:
        sys.stdout.write(f"\n{self._words.say(meaning)}\n")
        sys.stdout.flush()
