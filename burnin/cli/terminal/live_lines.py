"""The lines at the foot of the screen that change all the while: progress, sensors, forecast."""

from __future__ import annotations

import threading
import time
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.console import Console
    from rich.live import Live

_REFRESH_S = 0.2


class LiveLines:
    """Drawn at most five times a second, and only where the output is a terminal.

    `forecast` is the newest forecast as it is told, `left` the time that is left; empty where there
    is none.
    """

    def __init__(self, console: Console) -> None:
        self._console = console
        self._live: Live | None = None
        self._sample, self._progress = "", ""
        self._drawn_s = 0.0
        self.forecast = self.left = ""
        self._below = ""
        self._lock = threading.RLock()

    def show(self, *, sample: str = "", progress: str = "") -> None:
        """Put a newer line in the place of the last one of its kind, and draw."""
        self._sample, self._progress = sample or self._sample, progress or self._progress
        self._draw()

    def clear(self) -> None:
        """Forget sensors and progress: another stage begins."""
        self._sample = self._progress = ""

    def stop(self) -> None:
        """Take the lines away until the next is shown."""
        with self._lock:
            if self._live is not None:
                self._live.stop()
                self._live = None

    def keep_below(self, block: str) -> None:
        """Keep an open prompt at the foot, and draw nothing there until it is empty."""
        with self._lock:
            self.stop()
            self._below = block

    def print(self, what: object) -> None:
        """Print above the lines; it stays."""
        with self._lock:
            if self._below:
                self._console.print()
            (self._live.console if self._live else self._console).print(what)
            if self._below:
                from rich.text import Text

                self._console.print(Text.from_ansi(self._below), end="", soft_wrap=True)

    def _draw(self) -> None:
        with self._lock:
            if not self._below:
                self._draw_now()

    def _draw_now(self) -> None:
        now_s = time.monotonic()
        if not self._console.is_terminal or now_s - self._drawn_s < _REFRESH_S:
            return
        self._drawn_s = now_s
        from rich.console import Group
        from rich.live import Live
        from rich.text import Text

        width = self._console.width - 1
        rows = [
            Text(f"    {row}"[:width], style="dim")
            for row in (self._progress, self._sample, self.forecast, self.left)
            if row
        ]
        if self._live is None:
            self._live = Live(
                Group(*rows), console=self._console, auto_refresh=False, transient=True
            )
            self._live.start()
        self._live.update(Group(*rows), refresh=True)
