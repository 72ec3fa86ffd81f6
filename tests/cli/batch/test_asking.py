"""Prompts of a batch: one at a time over all cards, each with its card, none lost by waiting."""

from __future__ import annotations

import contextlib
import os
import socket
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass, field

import pytest

from burnin.cli.batch.asking import AsksKeeper
from burnin.cli.batch.at_terminal import AsksAtTerminal
from burnin.core.meaning import Prompt
from burnin.core.reading import NotMeasured
from burnin.record.batches.batch import CardOfBatch
from burnin.report.languages.catalogue import catalogue
from burnin.run.batch.member import Member
from burnin.run.batch.people import PromptQueue
from burnin.run.leave.letters import Answered, Wants, WantsNoMore, as_packet, letter_of
from burnin.run.leave.of_batch import OfBatch
from burnin.stages.display.meanings import DisplayPrompt

PROMPT = DisplayPrompt.CONNECT_MONITOR(output="DP-1")


def member(address: str) -> Member:
    return Member(CardOfBatch(address, "Corvane Silt 4", 2), lambda _: [])


@dataclass
class Person:
    """Keeps what lies open, and answers when told to."""

    shown: list[str] = field(default_factory=list)
    withdrawn: int = 0
    said: str | None = None
    over: bool = False

    def ask(self, member: Member, prompt: Prompt, timeout_s: float) -> None:
        assert (prompt, timeout_s) == (PROMPT, 60.0)
        self.shown.append(member.address)
        self.over = False

    def answer(self) -> tuple[bool, str | None]:
        return self.over, self.said

    def withdraw(self) -> None:
        self.withdrawn += 1


def test_one_prompt_lies_open_at_a_time_in_the_order_of_the_bench() -> None:
    person, first, second = Person(), member("0000:01:00.0"), member("0000:02:00.0")
    queue = PromptQueue(person)
    for each in (first, second):
        each.wants = Wants(1, PROMPT, 60.0)
    for _ in range(3):
        queue.turn([first, second])
    assert person.shown == [first.address]
    person.over, person.said = True, "yes"
    queue.turn([first, second])
    assert person.shown == [first.address, second.address]
    assert first.wants is None
    queue.withdraw(second)
    assert (person.withdrawn, second.wants) == (1, None)
    queue.turn([first, second])
    assert len(person.shown) == 2


@contextlib.contextmanager
def run_and_keeper() -> Iterator[tuple[OfBatch, socket.socket]]:
    ours, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
    with ours, contextlib.closing(OfBatch(theirs.detach())) as run:
        yield run, ours


@pytest.mark.parametrize("text", ["yes", None])
def test_a_run_hears_the_answer_or_that_nobody_gave_one(text: str | None) -> None:
    with run_and_keeper() as (run, keeper):
        keeper.send(as_packet(Answered(1, text)))
        answer = AsksKeeper(run, lambda: False).ask(PROMPT, 60.0)
        assert letter_of(keeper.recv(4096)) == Wants(1, PROMPT, 60.0)
    assert answer == text if text else isinstance(answer, NotMeasured)


def test_a_run_that_is_to_end_asks_no_more() -> None:
    with run_and_keeper() as (run, keeper):
        assert isinstance(AsksKeeper(run, lambda: True).ask(PROMPT, 60.0), NotMeasured)
        assert isinstance(letter_of(keeper.recv(4096)), Wants)
        assert letter_of(keeper.recv(4096)) == WantsNoMore(1)


class Foot:
    """The foot of a screen: whether something is drawn there."""

    def __init__(self) -> None:
        self.changes: list[str] = []

    def pause(self) -> None:
        self.changes.append("paused")

    def go_on(self) -> None:
        self.changes.append("goes on")


def over(asks: AsksAtTerminal) -> str | None:
    end_s = time.monotonic() + 20.0
    while time.monotonic() < end_s:
        done, text = asks.answer()
        if done:
            return text
        time.sleep(0.01)
    raise AssertionError("the prompt never ended")


def until_shown(capsys: pytest.CaptureFixture[str], text: str) -> str:
    shown, end_s = "", time.monotonic() + 20.0
    while text not in shown:
        assert time.monotonic() < end_s, shown
        shown += capsys.readouterr().out
        time.sleep(0.01)
    return shown


def test_the_terminal_names_the_card_and_takes_its_answer(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    far, near = os.openpty()
    with open(near, encoding="utf-8") as terminal:  # noqa: PTH123
        monkeypatch.setattr(sys, "stdin", terminal)
        foot, words = Foot(), catalogue("en")
        asks = AsksAtTerminal(words, foot, {"0000:02:00.0": ("DP-1",)})
        asks.ask(member("0000:02:00.0"), PROMPT, 60.0)
        shown = until_shown(capsys, "answer: ")  # what is typed before answers nothing
        os.write(far, b"yes\n")
        assert over(asks) == "yes"
        asks.ask(member("0000:02:00.0"), PROMPT, 60.0)
        asks.withdraw()
        assert over(asks) is None
    os.close(far)
    assert foot.changes == ["paused", "goes on"] * 2
    assert "Corvane Silt 4 at 0000:02:00.0, slot 2" in shown
    assert "screens on it: DP-1" in shown
    assert words.say(PROMPT) in " ".join(shown.split())
