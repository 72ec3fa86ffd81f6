"""A run as far as its record tells: what the page shows, added up line by line; no words yet."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from burnin.core.events import CountersRead
from burnin.core.meaning import Meaning, Reason
from burnin.core.plain import finite
from burnin.core.reading import Reading, Verdict
from burnin.core.verdict import StageVerdict
from burnin.page.curves import Curves
from burnin.page.standing import Standing, stood_until_now_s
from burnin.record.growing.following import News
from burnin.record.journal import JournalEntry
from burnin.record.schema.run import RunFile
from burnin.record.schema.tables import SampleRow
from burnin.run.desk.meanings import DeskNote
from burnin.run.time_left import planned_stages
from burnin.stages.counters import difference
from burnin.stages.whole_run.observed import LINK_ERRORS

CURVES = ("gpu_temp_c", "hotspot_temp_c", "power_w", "load_w")
"""Columns that are drawn."""


@dataclass
class StageSoFar:
    """A stage that began, or is to come (`started_s` None)."""

    name: str
    kind: str = ""
    own_title: str = ""
    verdict: StageVerdict = StageVerdict.INCOMPLETE
    started_s: float | None = None
    expected_s: float = 0.0


@dataclass
class RunSoFar:
    """What a record tells so far; `take` adds what is new.

    `begin_unread`: only the ends of its tables are in it, so that what happened once, and what is
    counted, may be missing.
    """

    run: RunFile | None = None
    stages: dict[str, StageSoFar] = field(default_factory=dict)
    current: str = ""
    elapsed_s: float = 0.0
    sample: SampleRow | None = None
    prompts: dict[int, Standing] = field(default_factory=dict)
    forecast: JournalEntry | None = None
    warning: JournalEntry | None = None
    trip: JournalEntry | None = None
    stop_asked: bool = False
    ended: bool = False
    failed: dict[tuple[str, str], Reading] = field(default_factory=dict)
    unread: dict[str, Reason] = field(default_factory=dict)
    kernel_lines: int = 0
    counters: list[CountersRead] = field(default_factory=list)
    traffic_errors: int = 0
    begin_unread: bool = False
    curves: Curves = field(default_factory=lambda: Curves(CURVES))

    def take(self, news: News) -> None:
        """Add what came; a record that was begun anew must be taken by a new one of these."""
        if news.run is not None:
            self.run = news.run
        for change in news.not_read:
            self.unread.pop(change.column, None)
            if change.reason is not None:
                self.unread[change.column] = change.reason
        for row in news.samples:
            self.sample = row
            self.elapsed_s = max(self.elapsed_s, row.elapsed_s)
        for at_s, values in news.points:
            self.curves.add(at_s, values)
        for entry in news.entries:
            self.elapsed_s = max(self.elapsed_s, entry.elapsed_s)
            seen = _SEEN.get(entry.event)
            if seen is not None:
                seen(self, entry)
        for reading in news.readings:
            if reading.verdict is Verdict.FAIL:
                self.failed[reading.stage, reading.name] = reading

    def begin_with(self, run: RunFile) -> None:
        """What run.json alone tells of the course: for a record that is opened at its end."""
        self.run = run
        self.stages = dict(self._planned())
        for row in run.stages:
            planned = self.stages.get(row.stage)
            expected_s = 0.0 if planned is None else planned.expected_s
            self.stages[row.stage] = StageSoFar(
                row.stage, row.kind, row.own_title, row.verdict, row.started_s, expected_s
            )
            self.current = row.stage

    @property
    def finished(self) -> bool:
        """Whether the run was closed: its journal tells, or in old records run.json alone."""
        return self.ended or (self.run is not None and bool(self.run.ended_utc))

    @property
    def prompt(self) -> Standing | None:
        """The one prompt that needs an answer: of several the one that stands longest."""
        return next(iter(self.prompts.values()), None)

    def link_errors(self) -> tuple[int | None, Reason | None]:
        """New errors since the run began, None where none were counted, and why (law 8)."""
        read = [told for told in self.counters if told.missing is None]
        if not read:
            why = next((told.missing for told in self.counters if told.missing), None)
            return None, why
        change = difference(read[0].counters, read[-1].counters)
        return sum(change.errors.values()) + self.traffic_errors, next(iter(change.unusable), None)

    def left_s(self) -> tuple[float, bool]:
        """Seconds that are left as the profile expects them, and whether that is all of them."""
        left, all_known = 0.0, True
        for stage in self.stages.values():
            if stage.verdict is not StageVerdict.INCOMPLETE:
                continue
            all_known = all_known and stage.expected_s > 0.0
            spent = 0.0 if stage.started_s is None else self.elapsed_s - stage.started_s
            left += max(0.0, stage.expected_s - spent)
        return left, all_known

    def _begins(self, entry: JournalEntry) -> None:
        told = entry.detail.get("stages")
        planned = self._planned()
        for name in map(str, told if isinstance(told, list) else ()):
            stage = planned.get(name) or StageSoFar(name, name.partition("-")[2])
            self.stages.setdefault(name, stage)
        self.ended, self.stop_asked, self.trip, self.warning = False, False, None, None
        self.prompts.clear()

    def _planned(self) -> Mapping[str, StageSoFar]:
        """The stages of the profile with what each should take, by their names in the run."""
        if self.run is None:
            return {}
        kept = self.run.profile
        planned = planned_stages(kept.name, kept.file, kept.text)
        return {
            name: StageSoFar(name, stage.stage, stage.title, expected_s=seconds)
            for name, (stage, seconds) in planned.items()
        }

    def _stage_begins(self, entry: JournalEntry) -> None:
        detail = entry.detail
        self.current = entry.stage
        before = self.stages.get(entry.stage, StageSoFar(entry.stage))
        self.stages[entry.stage] = StageSoFar(
            entry.stage,
            str(detail.get("kind", "")),
            str(detail.get("own_title", "") or ""),
            started_s=entry.elapsed_s,
            expected_s=finite(detail.get("expected_s")) or before.expected_s,
        )
        self.traffic_errors = 0
        self.forecast = None

    def _stage_ends(self, entry: JournalEntry) -> None:
        stage = self.stages.get(entry.stage)
        if stage is None:
            return
        try:
            stage.verdict = StageVerdict(str(entry.detail.get("verdict")))
        except ValueError:
            stage.verdict = StageVerdict.NOT_MEASURED

    def _prompt_opened(self, entry: JournalEntry) -> None:
        number, prompt = entry.detail.get("number"), entry.prompt()
        if isinstance(number, int) and prompt is not None:
            timeout_s = finite(entry.detail.get("timeout_s")) or 0.0
            stood_s = stood_until_now_s(entry.time_utc)
            self.prompts[number] = Standing(
                number, entry.stage, prompt, timeout_s, entry.time_utc, stood_s
            )

    def _prompt_closed(self, entry: JournalEntry) -> None:
        number = entry.detail.get("number")
        if isinstance(number, int):
            self.prompts.pop(number, None)

    def _noted(self, entry: JournalEntry) -> None:
        note: Meaning | None = entry.note()
        if note is not None and note.means(DeskNote.STOP_ASKED):
            self.stop_asked = True

    def _counted(self, entry: JournalEntry) -> None:
        told = entry.counters()
        if told is not None and told.of == LINK_ERRORS:
            # The first and the newest are enough; those between only add up to the same.
            self.counters = [*self.counters[:1], told]
            self.traffic_errors = 0

    def _traffic(self, entry: JournalEntry) -> None:
        told = entry.traffic()
        if told is not None:
            self.traffic_errors = sum(told.errors.values())

    def _logged(self, entry: JournalEntry) -> None:
        self.kernel_lines += entry.detail.get("counts") is True

    def _ends(self, _: JournalEntry) -> None:
        self.ended = True
        self.prompts.clear()

    def _forecast_made(self, entry: JournalEntry) -> None:
        self.forecast = entry

    def _warned(self, entry: JournalEntry) -> None:
        self.warning = entry

    def _warning_over(self, _: JournalEntry) -> None:
        self.warning = None

    def _tripped(self, entry: JournalEntry) -> None:
        self.trip = entry


_SEEN: dict[str, Callable[[RunSoFar, JournalEntry], None]] = {
    "RunStarted": RunSoFar._begins,
    "StageStarted": RunSoFar._stage_begins,
    "StageFinished": RunSoFar._stage_ends,
    "PromptOpened": RunSoFar._prompt_opened,
    "PromptClosed": RunSoFar._prompt_closed,
    "Noted": RunSoFar._noted,
    "CountersRead": RunSoFar._counted,
    "TrafficSummed": RunSoFar._traffic,
    "KernelLogged": RunSoFar._logged,
    "ForecastMade": RunSoFar._forecast_made,
    "WarningGiven": RunSoFar._warned,
    "WarningOver": RunSoFar._warning_over,
    "GuardTripped": RunSoFar._tripped,
    "RunFinished": RunSoFar._ends,
}
