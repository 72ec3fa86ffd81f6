"""The run in the terminal: stage after stage, a live line, and at the end one word, large."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import TYPE_CHECKING

from burnin.cli.terminal.figures import (
    VERDICT_WORDS,
    limit_text,
    live_text,
    value_text,
    verdict_text,
)
from burnin.core.clock import duration
from burnin.core.events import (
    Asked,
    Event,
    ForecastMade,
    GuardTripped,
    LoadPlanned,
    Noted,
    OwedWork,
    Promised,
    ReadingTaken,
    RunFinished,
    RunStarted,
    SampleTaken,
    StageFinished,
    StageProgress,
    StageStarted,
)
from burnin.core.reading import Reading, Verdict, title_of_reading
from burnin.core.verdict import by_reason

if TYPE_CHECKING:
    from rich.console import Console
    from rich.live import Live

_REFRESH_S = 0.2
_STYLES = {
    "pass": "bold",
    "fail": "bold reverse",
    "aborted": "bold reverse",
    "conditional": "bold underline",
    "not measured": "underline",
    "unsure": "underline",
    "recorded": "dim",
}


class Screen:
    """Prints a run's events; a live line only where the output is a terminal."""

    def __init__(self, console: Console, *, show_all: bool = False) -> None:
        self._console, self._show_all = console, show_all
        self._live: Live | None = None
        self._line, self._forecast, self._progress = "", "", ""
        self._drawn_s = 0.0
        self._number, self._stages = 0, 0
        self._kept_back = 0

    def __call__(self, event: Event) -> None:
        """Show one event."""
        show: dict[type, Callable[..., None]] = {
            RunStarted: self._run_started,
            StageStarted: self._stage_started,
            SampleTaken: self._sample,
            StageProgress: self._stage_progress,
            ForecastMade: self._forecast_made,
            ReadingTaken: self._reading,
            GuardTripped: self._tripped,
            Noted: self._noted,
            Promised: self._promised,
            LoadPlanned: self._load_planned,
            Asked: self._asked,
            StageFinished: self._stage_finished,
            RunFinished: self._run_finished,
        }
        show[type(event)](event)

    def pause(self) -> None:
        """Take the live line away, for a prompt."""
        if self._live is not None:
            self._live.stop()
            self._live = None

    def _run_started(self, event: RunStarted) -> None:
        from rich.text import Text

        facts = event.facts
        self._stages = len(event.stages)
        for label, text in _head(facts):
            line = Text(f"{label:<9}", style="dim")
            line.append(text, style="bold" if label == "card" else "")
            self._console.print(line)
        banner = _banner(facts)
        if banner:
            self._console.print(Text(banner, style="reverse"))

    def _stage_started(self, event: StageStarted) -> None:
        from rich.text import Text

        self._number += 1
        self._line = self._progress = ""
        self._kept_back = 0
        text = Text(f"\n{event.stage.split('-')[0]} of {self._stages}  ", style="dim")
        text.append(event.title, style="bold")
        if event.expected_s:
            text.append(f"  about {duration(event.expected_s)}", style="dim")
        self._print(text)

    def _sample(self, event: SampleTaken) -> None:
        self._line = live_text(event.sample)
        self._draw()

    def _stage_progress(self, event: StageProgress) -> None:
        share = event.done / event.total if event.total else 0.0
        filled = round(20 * min(1.0, share))
        bar = "█" * filled + "·" * (20 - filled)
        self._progress = f"{bar} {share:4.0%}  {event.note}"
        self._draw()

    def _forecast_made(self, event: ForecastMade) -> None:
        self._forecast = event.text

    def _reading(self, event: ReadingTaken) -> None:
        reading = event.reading
        if reading.name == "stage":
            return  # the stage as a whole was not measured; its end tells why
        if not self._show_all and reading.verdict is None and not reading.reason:
            self._kept_back += 1
            return
        self._print(self._reading_row(reading))
        if reading.reason and reading.verdict in (Verdict.FAIL, Verdict.UNSURE):
            self._say(reading.reason, indent=6)
        elif reading.reason and (
            reading.required or self._show_all or reading.verdict is None
        ):
            self._say(reading.reason, indent=6, style="dim")

    def _reading_row(self, reading: Reading) -> object:
        from rich.text import Text

        room = min(self._console.width, 112)
        name_width, limit_width = (30, 13) if room < 100 else (42, 26)
        value_width = room - 4 - name_width - limit_width - 12
        row = Text("    ")
        row.append(_fit(title_of_reading(reading.name), name_width))
        row.append(_fit(value_text(reading), value_width))
        row.append(_fit(limit_text(reading), limit_width), style="dim")
        word = verdict_text(reading)
        row.append(word, style=_STYLES.get(word, ""))
        return row

    def _tripped(self, event: GuardTripped) -> None:
        from rich.text import Text

        self._print(Text(f"    guard: {event.guard} - the load is off", style="bold reverse"))
        self._say(event.reason, indent=6)
        self._say(f"suspected: {event.suspect}", indent=6)
        self._say(f"check: {event.check}", indent=6)

    def _noted(self, event: Noted) -> None:
        if self._show_all or not event.stage:  # of the run as a whole
            self._say(event.text, indent=4, style="dim")

    def _promised(self, event: Promised) -> None:
        self._say(event.text, indent=4)

    def _load_planned(self, event: LoadPlanned) -> None:
        if self._show_all and event.steps:
            watts = ", ".join(f"{w:.0f} W" for _, w in event.steps)
            self._say(f"planned: {watts}; {event.why}", indent=4, style="dim")

    def _asked(self, event: Asked) -> None:
        self._say(f"asked: {event.question} {event.answer or 'no answer'}", indent=4, style="dim")

    def _stage_finished(self, event: StageFinished) -> None:
        from rich.text import Text

        self.pause()
        text = Text("    ")
        text.append(VERDICT_WORDS[event.verdict], style=_STYLES[event.verdict])
        if self._kept_back:
            text.append(f"  ({self._kept_back} more values in the record)", style="dim")
        self._print(text)
        if event.verdict in ("not measured",) and event.reason:
            self._say(event.reason, indent=6, style="dim")

    def _run_finished(self, event: RunFinished) -> None:
        from rich.text import Text

        self.pause()
        self._console.print()
        for line in _large(VERDICT_WORDS[event.verdict], self._console.width):
            self._console.print(Text(line, style="bold"), no_wrap=True)
        self._say(event.reason)
        self._owed(event.owed)

    def _owed(self, owed: tuple[OwedWork, ...]) -> None:
        if not owed:
            return
        self._console.print()
        self._say("Still owed:")
        for reason, what in by_reason(owed).items():
            self._say(f"- {', '.join(what)}: {reason}", indent=2)

    def _say(self, text: str, indent: int = 0, style: str = "") -> None:
        from rich.padding import Padding
        from rich.text import Text

        self._print(Padding(Text(text, style=style), (0, 0, 0, indent)))

    def _print(self, what: object) -> None:
        (self._live.console if self._live else self._console).print(what)

    def _draw(self) -> None:
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
            for row in (self._progress, self._line, self._forecast)
            if row
        ]
        if self._live is None:
            self._live = Live(
                Group(*rows), console=self._console, auto_refresh=False, transient=True
            )
            self._live.start()
        self._live.update(Group(*rows), refresh=True)


def _fit(text: str, width: int) -> str:
    return f"{text[: width - 2] + '…' if len(text) > width - 1 else text:<{width}}"


def _head(facts: object) -> list[tuple[str, str]]:
    """Label and text of each line above the first stage."""
    assert isinstance(facts, dict)
    card, profile, engine = facts["card"], facts["profile"], facts["engine"]
    rows = [("card", facts.get("card_text") or "none")]
    rows.append(("profile", f"{profile['name']}: {profile['title']}"))
    rows.append(("engine", f"{engine['name']}: {engine['why']}"))
    rows.append(("record", str(facts.get("folder", ""))))
    return [(label, str(text)) for label, text in rows if card is not None or label != "card"]


def _banner(facts: object) -> str:
    assert isinstance(facts, dict)
    if facts.get("simulated"):
        told = str(facts.get("simulated_scenario")).removeprefix("SIMULATED: ")
        return f" SIMULATED MACHINE, {told}: says nothing of a real card "
    if not facts["engine"].get("works_card", True):
        return " SOFTWARE VULKAN on the bench's processor: says nothing of a graphics card "
    return ""


def _large(word: str, width: int) -> list[str]:
    """The word in letters several rows high, or plain where the terminal is too narrow."""
    from pyfiglet import Figlet

    drawn = str(Figlet(font="standard", width=max(width, 20)).renderText(word)).rstrip("\n")
    lines = [line.rstrip() for line in drawn.split("\n") if line.strip()]
    if len(lines) > 7 or any(len(line) > width for line in lines):
        return [word]
    return lines
