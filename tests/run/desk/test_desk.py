"""The desk of a run: prompts are answered there by their number, a stop ends the load, no more."""

from __future__ import annotations

import stat
import tomllib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from burnin.core.events import Asked, Event, Noted, PromptClosed, PromptOpened, SampleTaken
from burnin.core.meaning import Reason
from burnin.core.ticket_header import Ticket
from burnin.core.verdict import Ended
from burnin.guard.meanings import GuardReason
from burnin.profile.loader import LoadedProfile, parse_profile
from burnin.run.begin import plan_run
from burnin.run.bench import Options, open_bench_for
from burnin.run.desk.at_desk import DeskAlone
from burnin.run.desk.calling import call
from burnin.run.desk.desk import Desk
from burnin.run.desk.letters import Answer, Stop
from burnin.run.desk.listening import desks_of, socket_of
from burnin.run.desk.meanings import DeskNote, DeskReason
from burnin.run.plan import RunOutcome
from burnin.run.session import carry_out_with_sinks

SHORT = """format = 1
title = "Short"
[guards]
gpu_temp_limit_c = 90.0
[[stages]]
stage = "display"
outputs = 4
watch_s = 0.3
picture = "off"
[[stages]]
stage = "compute"
load_s = 20.0
"""


def short_profile() -> LoadedProfile:
    return parse_profile("short", "short.toml", SHORT, tomllib.loads(SHORT))


class Calls:
    """A sink that goes to the desk as soon as it is told of an event."""

    name = "calls"

    def __init__(self, on_event: Callable[[Event], None]) -> None:
        self._on_event = on_event
        self.events: list[Event] = []

    def __call__(self, event: Event) -> None:
        self.events.append(event)
        self._on_event(event)

    def close(self) -> None:
        pass

    def of(self, kind: type) -> list[Event]:
        return [event for event in self.events if isinstance(event, kind)]


def run_at_desk(
    results: Path, calls: Callable[[Path], Calls], scenario: str = "dead_output"
) -> tuple[RunOutcome, Calls]:
    desk, options = Desk(), Options(simulated=scenario)
    opened = open_bench_for(options)
    plan = plan_run(opened, short_profile(), Ticket(), options, results)
    plan = replace(plan, prompter=DeskAlone(desk, plan.stop_asked))
    sink = calls(plan.folder)
    outcome = carry_out_with_sinks(plan, (sink,), desk=desk)
    return outcome, sink


def test_a_prompt_is_answered_at_the_desk_and_not_a_second_time(tmp_path: Path) -> None:
    refused: list[Reason | None] = []

    def calls(folder: Path) -> Calls:
        def on(event: Event) -> None:
            if isinstance(event, PromptOpened):
                assert stat.S_IMODE(socket_of(folder).stat().st_mode) == 0o600
                refused.append(call(folder, Answer(event.number + 1, "no")))
                refused.append(call(folder, Answer(event.number, " no ")))
                refused.append(call(folder, Answer(event.number, "yes")))

        return Calls(on)

    outcome, told = run_at_desk(tmp_path, calls)
    (opened,), (closed,) = told.of(PromptOpened), told.of(PromptClosed)
    assert isinstance(opened, PromptOpened)
    assert opened.stage == "1-display"
    assert closed == PromptClosed("1-display", opened.number, "page")
    assert told.of(Asked) == [Asked("1-display", opened.prompt, "no")]
    not_open = DeskReason.NOT_OPEN(number=opened.number)
    assert refused == [DeskReason.NOT_OPEN(number=opened.number + 1), None, not_open]
    assert list(desks_of(outcome.folder).iterdir()) == []
    assert call(outcome.folder, Stop()) == DeskReason.NOBODY_LISTENS()


def test_a_stop_at_the_desk_ends_the_run_as_by_hand_with_its_load_off(tmp_path: Path) -> None:
    def calls(folder: Path) -> Calls:
        def on(event: Event) -> None:
            if isinstance(event, PromptOpened):
                assert call(folder, Answer(event.number, "no")) is None
            if isinstance(event, SampleTaken) and event.sample.loaded:
                call(folder, Stop())

        return Calls(on)

    outcome, told = run_at_desk(tmp_path, calls)
    assert outcome.ended is Ended.STOPPED_BY_HAND
    assert outcome.stages[1].reasons == (GuardReason.STOPPED_BY_HAND(),)
    notes = [event.note for event in told.of(Noted) if isinstance(event, Noted)]
    assert notes.count(DeskNote.STOP_ASKED()) == 1
    last = told.of(SampleTaken)[-1]
    assert isinstance(last, SampleTaken)
    assert not last.sample.loaded


def test_a_stop_ends_the_waiting_for_an_answer(tmp_path: Path) -> None:
    def calls(folder: Path) -> Calls:
        return Calls(lambda e: None if not isinstance(e, PromptOpened) else _stop(folder))

    outcome, told = run_at_desk(tmp_path, calls)
    assert outcome.ended is Ended.STOPPED_BY_HAND
    (closed,) = told.of(PromptClosed)
    assert isinstance(closed, PromptClosed)
    assert closed.by == ""


def _stop(folder: Path) -> None:
    assert call(folder, Stop()) is None


def test_a_desk_that_cannot_listen_is_named_and_the_run_goes_on(tmp_path: Path) -> None:
    def calls(folder: Path) -> Calls:
        socket_of(folder).mkdir(parents=True)  # no socket can take its place
        return Calls(lambda _: None)

    outcome, told = run_at_desk(tmp_path, calls)
    assert outcome.ended is Ended.DONE
    notes = [event.note.code for event in told.of(Noted) if isinstance(event, Noted)]
    assert DeskNote.NOT_OPENED.value in notes
    assert told.of(PromptOpened) == []
