"""A batch on the terminal: a line a card that changes all the while, or a line for each change.

Drawn by a thread of its own: a terminal that stands still holds up neither keeper nor cards.
"""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from burnin.cli.batch.row import card_text, sensors, state
from burnin.core.meaning import Note
from burnin.report.languages.catalogue import Catalogue
from burnin.run.batch.member import Member

if TYPE_CHECKING:
    from rich.console import Console

_DRAW_EVERY_S = 0.25


class BatchLines:
    """Answers `burnin.run.batch.screen.Screen` on a console."""

    def __init__(self, console: Console, words: Catalogue, *, simulated: bool) -> None:
        self._console, self._words, self._simulated = console, words, simulated
        self._members: Sequence[Member] = ()
        self._said: dict[str, object] = {}
        self._to_print: queue.SimpleQueue[str] = queue.SimpleQueue()
        self._ended = threading.Event()
        self._free = threading.RLock()
        self._paused = False
        self._thread = threading.Thread(target=self._draw_on, name="batch lines", daemon=True)

    def show(self, members: Sequence[Member]) -> None:
        """Draw these cards from now on."""
        self._members = members
        self._thread.start()

    def changed(self, member: Member) -> None:
        """A line of its own for what is new, where the card's line cannot change in its place."""
        shows, waits = member.shows, member.waits
        now = (member.card, member.may_begin, shows.kind if shows is not None else "",
               waits.code if waits is not None else "")  # fmt: skip
        if self._said.get(member.address) == now:
            return
        self._said[member.address] = now
        if not self._console.is_terminal or member.card.ended:
            told = state(member, self._words, simulated=self._simulated)
            self._to_print.put(f"{member.address}  {told}")

    def note(self, note: Note) -> None:
        """A line that stays."""
        self._to_print.put(self._words.say(note))

    def pause(self) -> None:
        """Draw nothing until `go_on`: a prompt has the foot of the screen."""
        with self._free:
            self._paused = True

    def go_on(self) -> None:
        """Draw again."""
        with self._free:
            self._paused = False

    def close(self) -> None:
        """Draw what is left, as far as the terminal takes it."""
        self._ended.set()
        if self._thread.is_alive():
            self._thread.join(5.0)

    def _draw_on(self) -> None:
        from rich.live import Live
        from rich.text import Text

        live: Live | None = None
        while True:
            over = self._ended.wait(_DRAW_EVERY_S)
            with self._free:
                if self._paused and not over:
                    if live is not None:
                        live.stop()
                        live = None
                    continue
                self._print_new(live.console.print if live else self._console.print)
                if not self._console.is_terminal:
                    if over:
                        return
                    continue
                if over:
                    if live is not None:
                        live.stop()
                    return
                if live is None:
                    live = Live(console=self._console, auto_refresh=False, transient=True)
                    live.start()
                live.update(Text("\n".join(self._rows())), refresh=True)

    def _print_new(self, put: Callable[..., None]) -> None:
        while not self._to_print.empty():
            put(self._to_print.get(), markup=False, soft_wrap=True)

    def _rows(self) -> list[str]:
        width = self._console.width - 1
        rows = []
        for member in self._members:
            if member.card.ended:
                continue
            name = card_text(member.card, self._words)
            now = state(member, self._words, simulated=self._simulated)
            rows.append(f"{name}  {sensors(member, self._words)}  {now}"[:width])
        return rows
