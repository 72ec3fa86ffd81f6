"""Carries out a case on the simulated machine: a profile, causes, somebody's hands, a cut.

A case is data (`cases.toml`): what is done, why, what is right, what it gave when it was drawn. Its
demands are verdicts of readings, stages and run, codes of reasons, or words of a refusal.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from burnin.core.errors import BurninError
from burnin.core.events import Event, StageStarted
from burnin.core.meaning import Prompt
from burnin.core.reading import NotMeasured
from burnin.core.ticket_header import Ticket
from burnin.profile.loader import parse_profile
from burnin.record.reader import Record, read_record
from burnin.record.writer import RecordWriter
from burnin.run.begin import plan_run
from burnin.run.bench import Options, open_bench_for
from burnin.run.plan import RunPlan
from burnin.run.resume import plan_again
from burnin.run.session import carry_out_with_sinks
from burnin.sim.technician import SimulatedTechnician
from burnin.stages.standing_prompt import StandingPrompt
from tests.others.together.case import CARD, HEAD, Case, Says
from tests.run.driving import Watched
from tests.run.test_resume import PowerCut


@dataclass(frozen=True)
class Outcome:
    """What came of a case."""

    record: Record | None
    refusal: str = ""

    def in_words(self) -> str:
        """For `gave`."""
        if self.record is None:
            return f"refused: {self.refusal}"
        lines = [f"run {self.record.run.verdict}"]
        lines += [f"{s.kind} {s.verdict}" for s in self.record.run.stages]
        for r in self.record.readings:
            code = r.reason.code if r.reason else ""
            lines.append(f"  {r.stage} {r.name} = {r.value}: {r.verdict} {code}")
        return "\n".join(lines)


class Hands:
    """Answers as a case says, one entry a prompt; without one, as the simulated technician does."""

    def __init__(self, asks: SimulatedTechnician, answers: list[Says]) -> None:
        self._asks, self._left = asks, list(answers)
        self._machine = asks._machine

    def ask(self, prompt: Prompt, timeout_s: float) -> str | NotMeasured:
        return self._asks.ask(prompt, timeout_s)

    def put(self, prompt: Prompt, timeout_s: float) -> StandingPrompt:
        if not self._left:
            return self._asks.put(prompt, timeout_s)
        said = self._left.pop(0)
        if said.moves:
            self._asks.put(prompt, timeout_s)
        return _Lies(said, lambda: self._machine.time_s)


class _Lies:
    """A prompt that is answered when its time has come, or never."""

    def __init__(self, said: Says, time_s: Callable[[], float]) -> None:
        self._said, self._time_s, self._began_s = said, time_s, time_s()

    def look(self) -> str | NotMeasured | None:
        due = self._time_s() - self._began_s >= self._said.after_s
        says = self._said.says if due else None
        return says.replace("<novel>", "x" * 100_000) if says is not None else None

    def withdraw(self) -> None:
        """Nothing stands."""


def carry_out(case: Case, folder: Path) -> Outcome:
    """The record of a case, or the refusal of its profile."""
    text = HEAD + case.guards + case.points + case.stages
    scenario = folder / "scenario.toml"
    scenario.write_text(
        CARD + case.bench + case.card + case.outputs + case.causes, encoding="utf-8"
    )
    try:
        loaded = parse_profile("case", "case.toml", text, tomllib.loads(text))
    except BurninError as error:
        return Outcome(None, str(error))
    options = Options(simulated=str(scenario))
    opened = open_bench_for(options)
    ticket = Ticket(number="T-1", customer="Ottilie Maro", shop="Wrenfield Board Repair")
    plan = plan_run(opened, loaded, ticket, options, folder / "results")
    plan = replace(plan, left_out=frozenset(case.left_out))
    try:
        _run(plan, case, case.answers)
    except PowerCut:
        if case.again is not None:
            if case.mended:
                scenario.write_text(CARD + case.bench + case.card + case.outputs, encoding="utf-8")
            _run(plan_again(plan.folder), case, case.again, goes_on=True)
    return Outcome(read_record(plan.folder))


def _run(plan: RunPlan, case: Case, answers: list[Says], *, goes_on: bool = False) -> None:
    technician = plan.bench.technician
    assert isinstance(technician, SimulatedTechnician)
    seen = [""]
    stops = [False]
    since = [-1.0]

    def met(wanted: str, event: Event) -> bool:
        if wanted and since[0] < 0.0 and wanted in f"{seen[0]} {type(event).__name__} {event!r}":
            since[0] = plan.bench.clock.monotonic_s()
        return since[0] >= 0.0 and plan.bench.clock.monotonic_s() - since[0] >= case.after_s

    def on_event(event: Event) -> None:
        if isinstance(event, StageStarted):
            seen[0] = event.stage
        if goes_on:
            return
        if case.cut_at and met(case.cut_at, event):
            raise PowerCut
        stops[0] = stops[0] or bool(case.stop_at and met(case.stop_at, event))

    plan = replace(plan, prompter=Hands(technician, answers), stop_asked=lambda: stops[0])
    writer = RecordWriter(plan.folder, plan.bench.clock, plan.start_s, simulated=True)
    carry_out_with_sinks(plan, [], Watched(writer, on_event))


def broken(case: Case, outcome: Outcome) -> Iterator[str]:
    """Which demands the outcome breaks; empty: none."""
    if case.refused:
        if case.refused not in outcome.refusal:
            yield f"not refused with {case.refused!r}"
        return
    record = outcome.record
    if record is None:
        if "refused" not in case.run_in:
            yield f"refused: {outcome.refusal}"
        return
    if case.run_in and str(record.run.verdict) not in case.run_in:
        yield f"run {record.run.verdict}"
    ended = {s.kind: str(s.verdict) for s in record.run.stages}
    for kind, allowed in case.stage_in.items():
        if ended.get(kind) not in allowed:
            yield f"stage {kind} {ended.get(kind)}"
    told = {r.name: r for r in record.readings}
    for name, allowed in case.readings.items():
        got = str(told[name].verdict) if name in told else "absent"
        if got not in allowed:
            yield f"{name}: {got}"
    for name, code in case.codes.items():
        reason = told[name].reason if name in told else None
        if reason is None or code not in {part.code for part in reason.parts()}:
            yield f"{name}: because of {reason}"
    for name in case.none_of:
        if name in told:
            yield f"{name} is there"
    if case.sane:
        numbers = [r.value for r in record.readings if isinstance(r.value, float)]
        if not all(abs(number) < 1e9 for number in numbers):
            yield "a number beyond sense"
    for words in case.told:
        if not any(words in repr(r) for r in record.readings):
            yield f"nobody tells {words}"
    names = [(r.stage, r.name) for r in record.all_readings]
    if case.again is None and len(set(names)) != len(names):
        yield f"told twice: {sorted({n for n in names if names.count(n) > 1})}"
