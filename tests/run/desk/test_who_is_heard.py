"""Whom the desk hears and what it takes: two letters, from its own account alone."""

from __future__ import annotations

import json
import os
import socket
import tempfile
import threading
from collections.abc import Callable
from pathlib import Path

import pytest

from burnin.core.events import Event, PromptClosed
from burnin.core.meaning import Prompt, PromptCode, Reason
from burnin.core.reading import NotMeasured
from burnin.run.desk.at_desk import AtDesk
from burnin.run.desk.calling import call
from burnin.run.desk.desk import Desk
from burnin.run.desk.letters import MOST_ANSWER, MOST_BYTES, Answer, Stop
from burnin.run.desk.listening import desks_of, short_name, socket_of
from burnin.run.desk.meanings import DeskReason
from burnin.run.reasons import RunReason


class SomePrompt(PromptCode):
    LOOK = "test_desk_look"


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
