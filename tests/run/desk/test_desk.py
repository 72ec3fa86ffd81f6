"""The desk of a run: prompts are answered there by their number, a stop ends the load, no more."""

from __future__ import annotations

import json
import os
import socket
import stat
import tempfile
import threading
import tomllib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from burnin.core.events import Asked, Event, Noted, PromptClosed, PromptOpened, SampleTaken
from burnin.core.meaning import Prompt, PromptCode, Reason
from burnin.core.reading import NotMeasured
from burnin.core.ticket_header import Ticket
from burnin.core.verdict import Ended
from burnin.guard.meanings import GuardReason
from burnin.profile.loader import LoadedProfile, parse_profile
from burnin.run.begin import plan_run
from burnin.run.bench import Options, open_bench_for
from burnin.run.desk.at_desk import AtDesk, DeskAlone
from burnin.run.desk.calling import call
from burnin.run.desk.desk import Desk
from burnin.run.desk.letters import MOST_ANSWER, MOST_BYTES, Answer, Stop
from burnin.run.desk.listening import desks_of, short_name, socket_of
from burnin.run.desk.meanings import DeskNote, DeskReason
from burnin.run.plan import RunOutcome
from burnin.run.reasons import RunReason
from burnin.run.session import carry_out_with_sinks


class SomePrompt(PromptCode):
    LOOK = "test_desk_look"


SHORT = """format = 1
title = "Short"
[guards]
gpu_temp_limit_c = 90.0
[[stages]]
stage = "display"
outputs = 4
watch_s = 0.3
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


@pytest.fixture
def record(tmp_path: Path) -> Path:
    """A record's folder, as it lies below the results."""
    folder = tmp_path / "4711" / "a"
    folder.mkdir(parents=True)
    return folder


def test_a_socket_that_a_killed_run_left_is_no_hindrance_and_no_part_of_its_record(
    record: Path,
) -> None:
    desks_of(record).mkdir()
    with socket.socket(socket.AF_UNIX) as left, short_name(record) as name:
        left.bind(name)
    assert list(record.iterdir()) == []
    assert call(record, Stop()) == DeskReason.NOBODY_LISTENS()
    desk = Desk()
    with desk.open(record, lambda _: None):
        assert call(record, Stop()) is None
    assert desk.stop_asked()


def test_two_runs_have_two_desks(record: Path) -> None:
    other = record.with_name("b")
    first, second = Desk(), Desk()
    with first.open(record, lambda _: None), second.open(other, lambda _: None):
        assert call(other, Stop()) is None
    assert (first.stop_asked(), second.stop_asked()) == (False, True)


def test_a_record_far_below_has_a_desk_too(tmp_path: Path) -> None:
    folder = tmp_path / ("a" * 120) / ("b" * 120)
    folder.mkdir(parents=True)
    with Desk().open(folder, lambda _: None):
        assert call(folder, Stop()) is None


@pytest.mark.parametrize(
    "line",
    [
        b"",
        b"\n",
        b"stop\n",
        b"[]\n",
        b'{"stop": 1}\n',
        b'{"stop": false}\n',
        b'{"start": true}\n',
        b'{"stop": true, "start": true}\n',
        b'{"prompt": 1}\n',
        b'{"prompt": true, "answer": "yes"}\n',
        b'{"prompt": "1", "answer": "yes"}\n',
        b'{"prompt": 1, "answer": ["yes"]}\n',
        b'{"prompt": 1e999, "answer": "yes"}\n',
        b"\xff\xfe\x00\n",
        b"[" * 4000 + b"\n",
        b"x" * (MOST_BYTES + 10),
    ],
)
def test_what_is_neither_answer_nor_stop_is_refused_and_the_desk_hears_on(
    record: Path, line: bytes
) -> None:
    desk = Desk()
    with desk.open(record, lambda _: None):
        with socket.socket(socket.AF_UNIX) as other:
            with short_name(record) as name:
                other.connect(name)
            other.sendall(line)
            other.shutdown(socket.SHUT_WR)
            said = json.loads(other.recv(MOST_BYTES))
        assert said == {"refused": {"code": DeskReason.NOT_UNDERSTOOD.value}}
        assert not desk.stop_asked()
        assert call(record, Stop()) is None


@pytest.mark.parametrize(
    ("text", "refused"),
    [
        ("", DeskReason.ANSWER_EMPTY()),
        (" \n\t", DeskReason.ANSWER_EMPTY()),
        ("\x1b[2J", DeskReason.ANSWER_EMPTY()),
        ("y" * (MOST_ANSWER + 1), DeskReason.ANSWER_TOO_LONG(most_count=MOST_ANSWER)),
        ("<script>", None),
        ("grün, 4 Stück", None),
    ],
)
def test_an_answer_is_short_and_can_be_printed(text: str, refused: Reason | None) -> None:
    desk = Desk()
    number = desk.put(SomePrompt.LOOK(), 1.0)
    assert desk.hear(Answer(number, text)) == refused
    assert desk.take(number) == (None if refused else text)


class AtTerminal:
    """Answers, or waits as a terminal does until somebody else did."""

    def __init__(self, desk: Desk, says: str | None) -> None:
        self._desk, self._says = desk, says
        self.waits = threading.Event()

    def ask(self, prompt: Prompt, timeout_s: float) -> str | NotMeasured:  # noqa: ARG002
        self.waits.set()
        while self._says is None and not self._desk.disturbs():
            threading.Event().wait(0.005)
        return self._says or NotMeasured(RunReason.NOBODY_ANSWERED(waited_s=timeout_s))


@pytest.mark.parametrize("says", ["yes", None])
def test_terminal_and_desk_whichever_comes_first(record: Path, says: str | None) -> None:
    desk, told = Desk(), list[Event]()
    terminal = AtTerminal(desk, says)
    with desk.open(record, told.append):
        later = threading.Thread(
            target=lambda: terminal.waits.wait(5.0) and call(record, Answer(1, "no"))
        )
        if says is None:
            later.start()
        answer = AtDesk(terminal, desk).ask(SomePrompt.LOOK(), 5.0)
        if says is None:
            later.join()
        assert call(record, Answer(1, "late")) == DeskReason.NOT_OPEN(number=1)
    assert answer == (says or "no")
    assert told[-1] == PromptClosed("", 1, "terminal" if says else "page")


def test_a_prompt_may_be_looked_at_without_waiting() -> None:
    desk = Desk()
    first, second = desk.put(SomePrompt.LOOK(), 60.0), desk.put(SomePrompt.LOOK(), 60.0)
    assert desk.prompts.given(second) is None
    assert desk.hear(Answer(second, "yes")) is None
    assert (desk.prompts.given(first), desk.prompts.given(second)) == (None, "yes")
    assert (desk.take(second), desk.take(first)) == ("yes", None)
    assert desk.hear(Answer(first, "yes")) == DeskReason.NOT_OPEN(number=first)


def as_another_account(do: Callable[[], str]) -> str:
    """What `do` gives in a process of an account that is nobody's."""
    ours, theirs = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.setgid(65534)
            os.setuid(65534)
            told = do()
        except BaseException as error:
            told = repr(error)
        finally:
            os.write(theirs, told.encode())
            os._exit(0)
    os.close(theirs)
    os.waitpid(child, 0)
    with os.fdopen(ours) as read:
        return read.read()


@pytest.mark.skipif(os.geteuid() != 0, reason="only root may become somebody else")
def test_another_account_is_not_heard_even_where_it_reached_the_socket() -> None:
    desk = Desk()
    with tempfile.TemporaryDirectory() as name:
        Path(name).chmod(0o755)
        folder = Path(name) / "4711" / "a"
        folder.mkdir(parents=True)

        def knock() -> str:
            with socket.socket(socket.AF_UNIX) as other:
                other.settimeout(5.0)
                other.connect(str(socket_of(folder)))
                other.sendall(b'{"stop": true}\n')
                return other.recv(200).decode()

        with desk.open(folder, lambda _: None):
            assert DeskReason.NOT_ALLOWED.value in as_another_account(
                lambda: str(call(folder, Stop()))
            )
            desks_of(folder).chmod(0o755)
            socket_of(folder).chmod(0o666)
            assert DeskReason.NOT_ALLOWED.value in as_another_account(knock)
            assert not desk.stop_asked()
