"""The run in the terminal: stage after stage, a live line, and at the end one word, large."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from burnin.cli.terminal.figures import (
    forecast_text,
    left_text,
    live_text,
    what_to_look_at,
)
from burnin.cli.terminal.head import banner, head
from burnin.cli.terminal.large_letters import large_letters
from burnin.cli.terminal.live_lines import LiveLines
from burnin.cli.terminal.prompt_block import question_of
from burnin.cli.terminal.reading_row import STYLES, reading_row
from burnin.cli.terms import LargeWord, ScreenTerm
from burnin.core.answers.reader import told_again
from burnin.core.events import (
    Asked,
    Event,
    ForecastMade,
    ForecastsJudged,
    GuardTripped,
    KernelLogged,
    LoadPlanned,
    Noted,
    Promised,
    PromptClosed,
    ReadingTaken,
    RunFinished,
    RunStarted,
    SampleTaken,
    SinkDetached,
    StageFinished,
    StageProgress,
    StageStarted,
    WarningGiven,
    WarningOver,
)
from burnin.core.meaning import Meaning
from burnin.core.reading import Verdict
from burnin.core.verdict import WHOLE_RUN, OwedWork, by_reason, shown
from burnin.run.desk.desk import AT_TERMINAL
from burnin.run.reasons import resumed
from burnin.run.time_left import TimeLeft, planned_stages
from burnin.stages.movement.meanings import MovementNote

if TYPE_CHECKING:
    from rich.console import Console

    from burnin.report.languages.catalogue import Catalogue

class Screen:
    """Prints a run's events; a live line only where the output is a terminal."""

    name = "terminal"

    def __init__(self, console: Console, words: Catalogue, *, show_all: bool = False) -> None:
        self._console, self._words, self._show_all = console, words, show_all
        self._live = LiveLines(console)
        self._stages, self._kept_back, self._resumed = 0, 0, 0
        self._simulated = self._typed_here = False
        self._left, self._at_s = TimeLeft({}, ()), 0.0
        self._show: dict[type, Callable[..., None]] = {
            RunStarted: self._run_started,
            StageStarted: self._stage_started,
            SampleTaken: self._sample,
            StageProgress: self._stage_progress,
            ForecastMade: self._forecast_made,
            ReadingTaken: self._reading,
            WarningGiven: self._warned,
            WarningOver: self._warning_over,
            GuardTripped: self._tripped,
            ForecastsJudged: self._forecasts_judged,
            Noted: self._noted,
            Promised: self._promised,
            LoadPlanned: self._load_planned,
            Asked: self._asked,
            PromptClosed: self._prompt_closed,
            SinkDetached: self._sink_detached,
            KernelLogged: self._kernel_logged,
            StageFinished: self._stage_finished,
            RunFinished: self._run_finished,
        }

    def __call__(self, event: Event) -> None:
        """Show one event; sums of traffic are for going on after a power cut, not for people."""
        show = self._show.get(type(event))
        if show is not None:
            show(event)

    def close(self) -> None:
        """Nothing more will come."""
        self._live.stop()

    def pause(self) -> None:
        """Take the live lines away, for a prompt."""
        self._live.stop()

    def keep_below(self, line: str) -> None:
        """Keep the line of an open prompt below all that is printed; empty: no longer."""
        self._live.keep_below(line)

    def _run_started(self, event: RunStarted) -> None:
        from rich.text import Text

        self._stages, self._resumed = len(event.stages), event.opening.resumed
        self._simulated = event.opening.simulated
        kept = event.opening.profile
        planned = planned_stages(kept.name, kept.file, kept.text)
        expected_s = {name: seconds for name, (_, seconds) in planned.items()}
        self._left = TimeLeft(expected_s, event.stages)
        lines = head(event.opening, self._words)
        wide = max(len(label) for label, _, _ in lines)
        for label, told, style in lines:
            line = Text(f"{label:<{wide}}  ", style="dim")
            line.append(told, style=style)
            self._console.print(line)
        warning = banner(event.opening, self._words)
        if warning:
            self._console.print(Text(f" {warning} ", style="reverse"))

    def _stage_started(self, event: StageStarted) -> None:
        from rich.text import Text

        self._live.clear()
        self._kept_back = 0
        self._left.begins(event.stage, event.expected_s, self._at_s)
        text = Text("\n")
        if event.kind != WHOLE_RUN:
            number = event.stage.split("-")[0]
            place = ScreenTerm.STAGE_OF(number=number, stages_count=self._stages)
            text.append(f"{self._words.say(place)}  ", style="dim")
        text.append(self._words.stage(event.kind, event.own_title), style="bold")
        if event.taken_over:
            text.append(f"  {self._words.say(ScreenTerm.TAKEN_OVER())}", style="dim")
        if event.expected_s:
            expected = ScreenTerm.EXPECTED(seconds=event.expected_s)
            text.append(f"  {self._words.say(expected)}", style="dim")
        self._live.print(text)

    def _sample(self, event: SampleTaken) -> None:
        if not event.sample.loaded:
            self._live.forecast = ""
        self._at_s = event.sample.elapsed_s
        self._live.left = left_text(self._left.left(self._at_s), self._words)
        self._live.show(sample=live_text(event.sample, self._words))

    def _stage_progress(self, event: StageProgress) -> None:
        share = event.done / event.total if event.total else 0.0
        filled = round(20 * min(1.0, share))
        bar = "█" * filled + "·" * (20 - filled)
        self._live.show(progress=f"{bar} {share:4.0%}  {self._words.say(event.note)}")

    def _forecast_made(self, event: ForecastMade) -> None:
        self._live.forecast = forecast_text(event, self._words)

    def _reading(self, event: ReadingTaken) -> None:
        reading = event.reading
        if reading.name == "stage":
            return  # the stage as a whole was not measured; its end tells why
        if not self._show_all and reading.verdict is None and not reading.reason:
            self._kept_back += 1
            return
        self._live.print(reading_row(reading, self._words, self._console.width))
        if reading.reason and reading.verdict in (Verdict.FAIL, Verdict.UNSURE):
            self._say(reading.reason, indent=6)
        elif reading.reason and (reading.required or self._show_all or reading.verdict is None):
            self._say(reading.reason, indent=6, style="dim")

    def _warned(self, event: WarningGiven) -> None:
        self._say(ScreenTerm.WARNING(what=event.warning), indent=4, style="bold")
        self._say(ScreenTerm.CHECK(what=event.check), indent=6, style="dim")

    def _warning_over(self, event: WarningOver) -> None:
        self._say(event.why, indent=4, style="dim")

    def _forecasts_judged(self, event: ForecastsJudged) -> None:
        self._console.print()
        self._print_line(self._words.says(event.notes), style="dim")

    def _tripped(self, event: GuardTripped) -> None:
        from rich.text import Text

        told = self._words.say(ScreenTerm.GUARD_ENDED(guard=event.guard))
        self._live.print(Text(f"    {told}", style="bold reverse"))
        self._say(event.reason, indent=6)
        for line in what_to_look_at(event):
            self._say(line, indent=6)

    def _kernel_logged(self, event: KernelLogged) -> None:
        if event.counts:
            self._say(event.reason, indent=4, style="bold")
        elif self._show_all:
            self._say(event.reason, indent=4, style="dim")

    def _noted(self, event: Noted) -> None:
        if event.note.means(MovementNote.HAPPENED):
            self._say(event.note, indent=4, style="bold")  # whoever moves the card must see it
        elif self._show_all or not event.stage:  # of the run as a whole
            self._say(event.note, indent=4, style="dim")

    def _promised(self, event: Promised) -> None:
        self._print_line(self._words.says(event.promise), indent=4)

    def _load_planned(self, event: LoadPlanned) -> None:
        if not self._show_all or not event.steps:
            return
        watts = ", ".join(f"{w:.0f} W" for _, w in event.steps)
        planned = ScreenTerm.PLANNED(watts=watts)
        why = event.why
        told = planned if why is None else ScreenTerm.PLANNED_WHY(watts=watts, why=why)
        self._say(told, indent=4, style="dim")

    def _prompt_closed(self, event: PromptClosed) -> None:
        self._typed_here = event.by == AT_TERMINAL

    def _asked(self, event: Asked) -> None:
        if self._typed_here:
            self._typed_here = False
            return  # it stands where it was typed, below its question
        what = question_of(event.prompt)
        told = (
            ScreenTerm.ASKED(what=what, answer=told_again(event.answer))
            if event.answer
            else ScreenTerm.NOT_ANSWERED(what=what)
        )
        self._say(told, indent=4, style="dim")

    def _sink_detached(self, event: SinkDetached) -> None:
        self._say(ScreenTerm.SINK_DETACHED(sink=event.sink, why=event.reason), indent=4)

    def _stage_finished(self, event: StageFinished) -> None:
        from rich.text import Text

        self.pause()
        self._left.ends(event.stage)
        text = Text("    ")
        text.append(self._large(event.verdict.name), style=STYLES[event.verdict])
        if self._kept_back:
            more = self._words.say(ScreenTerm.MORE_VALUES(values_count=self._kept_back))
            text.append(f"  {more}", style="dim")
        self._live.print(text)
        if event.verdict == Verdict.NOT_MEASURED.value and event.reasons:
            self._print_line(self._words.says(event.reasons), indent=6, style="dim")

    def _run_finished(self, event: RunFinished) -> None:
        from rich.text import Text

        self.pause()
        self._console.print()
        over = [LargeWord.SIMULATED.name] if self._simulated else []
        for word in (*over, event.verdict.name):
            console = self._console
            for line in large_letters(self._large(word), console.width, console.encoding):
                self._console.print(Text(line, style="bold"), no_wrap=True)
        if self._simulated:
            told = shown(event.verdict, simulated=True)
            self._console.print(Text(self._words.word(told), style="reverse"))
        often = resumed(self._resumed)
        self._print_line(self._words.says((event.reason, *((often,) if often else ()))))
        self._owed(event.owed)

    def _owed(self, owed: tuple[OwedWork, ...]) -> None:
        if not owed:
            return
        self._console.print()
        self._say(ScreenTerm.STILL_OWED())
        for reason, what in by_reason(owed).items():
            self._say(ScreenTerm.OWED_LINE(what=tuple(what), why=reason), indent=2)

    def _large(self, verdict: str) -> str:
        return self._words.say(LargeWord[verdict]())

    def _say(self, meaning: Meaning, indent: int = 0, style: str = "") -> None:
        self._print_line(self._words.say(meaning), indent, style)

    def _print_line(self, text: str, indent: int = 0, style: str = "") -> None:
        from rich.padding import Padding
        from rich.text import Text

        self._live.print(Padding(Text(text, style=style), (0, 0, 0, indent)))
