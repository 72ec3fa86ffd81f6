"""A whole run on the simulated machine, as the command does it, without terminal and sheet."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from burnin.cli.terminal.prompter import NobodyThere, SaidBeforehand
from burnin.core.events import Event
from burnin.profile.loader import LoadedProfile, load_profile
from burnin.record.ticket_header import Ticket
from burnin.record.writer import RecordWriter
from burnin.run.bench import Options, facts_of, open_bench_for, run_folder
from burnin.run.runner import RunOutcome, RunPlan, carry_out


@dataclass(frozen=True)
class Ran:
    """Outcome, record folder and every event of a run."""

    outcome: RunOutcome
    folder: Path
    events: list[Event]


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
) -> Ran:
    """Run a profile on a scenario; events go to the record, to a list, and to `on_event`."""
    loaded = load_profile(profile) if isinstance(profile, str) else profile
    options = Options(simulated=scenario, seed=seed)
    opened = open_bench_for(options)
    ticket = Ticket(number="T-1", customer="Ottilie Maro", shop="Wrenfield Board Repair")
    run_id, folder = run_folder(results, ticket, opened.clock.utc())
    start_s = opened.clock.monotonic_s()
    writer = RecordWriter(folder, opened.clock, start_s)
    events: list[Event] = []

    def publish(event: Event) -> None:
        writer(event)
        events.append(event)
        on_event(event)

    plan = RunPlan(
        run_id=run_id,
        profile=loaded.profile,
        facts=facts_of(opened, loaded, ticket, run_id, folder, options),
        card=opened.card,
        no_card_reason=opened.no_card_reason,
        cards_found=opened.cards_found,
        engine=opened.engine,
        clock=opened.clock,
        start_s=start_s,
        prompter=NobodyThere()
        if unattended
        else SaidBeforehand(opened.attached or frozenset(), publish),
        folder=folder,
        stop_asked=stop_asked,
        left_out=left_out,
    )
    try:
        outcome = carry_out(plan, publish)
    finally:
        writer.close()
    return Ran(outcome, folder, events)
