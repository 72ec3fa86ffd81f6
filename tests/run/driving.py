"""A whole run on the simulated machine, as the command does it, without terminal and sheet."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from burnin.core.events import Event
from burnin.core.meaning import Meaning
from burnin.core.ticket_header import Ticket
from burnin.profile.loader import LoadedProfile, load_profile
from burnin.record.reader import Record, read_record
from burnin.record.sinks import Sink
from burnin.record.writer import RecordWriter
from burnin.report.languages.catalogue import catalogue
from burnin.run.begin import plan_run
from burnin.run.bench import Options, open_bench_for
from burnin.run.plan import RunOutcome
from burnin.run.prompters import NobodyThere
from burnin.run.session import carry_out_with_sinks, prompter_for
from burnin.sim.engine.engine import SimulatedEngine


@dataclass(frozen=True)
class Ran:
    """Outcome, record folder and every event of a run."""

    outcome: RunOutcome
    folder: Path
    events: list[Event]

    @property
    def record(self) -> Record:
        """The record, read back."""
        return read_record(self.folder)

    @property
    def told(self) -> str:
        """The reason of the verdict in English."""
        return said(self.outcome.reason)


def said(*meanings: Meaning | None) -> str:
    """Meanings in English, joined."""
    return catalogue("en").says(m for m in meanings if m is not None)


class Watched:
    """The record of a run, and a test that sees each event as soon as it is on disk."""

    name = "record"

    def __init__(self, writer: RecordWriter, on_event: Callable[[Event], None]) -> None:
        self._writer, self._on_event = writer, on_event
        self.events: list[Event] = []

    def __call__(self, event: Event) -> None:
        self._writer(event)
        self.events.append(event)
        self._on_event(event)

    def close(self) -> None:
        self._writer.close()


def run_simulated(
    scenario: str,
    profile: str | LoadedProfile,
    results: Path,
    *,
    seed: int = 1,
    unattended: bool = False,
    on_event: Callable[[Event], None] = lambda _: None,
    stop_asked: Callable[[], bool] = lambda: False,
    left_out: frozenset[str] = frozenset(),
    sinks: Sequence[Sink] = (),
    tells_address: bool = True,
) -> Ran:
    """Run a profile on a scenario; `on_event` sees each event right after the record.

    `tells_address`: whether the engine's API tells the card's bus address, as not all do.
    """
    loaded = load_profile(profile) if isinstance(profile, str) else profile
    options = Options(simulated=scenario, seed=seed)
    opened = open_bench_for(options)
    if not tells_address:
        assert isinstance(opened.engine, SimulatedEngine)
        opened.engine.address = ""
    ticket = Ticket(number="T-1", customer="Ottilie Maro", shop="Wrenfield Board Repair")
    plan = plan_run(opened, loaded, ticket, options, results)
    plan = replace(
        plan,
        prompter=NobodyThere() if unattended else prompter_for(opened),
        stop_asked=stop_asked,
        left_out=left_out,
    )
    writer = RecordWriter(plan.folder, opened.clock, plan.start_s, simulated=True)
    record = Watched(writer, on_event)
    outcome = carry_out_with_sinks(plan, sinks, record)
    return Ran(outcome, plan.folder, record.events)
