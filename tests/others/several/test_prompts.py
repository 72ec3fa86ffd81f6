"""Whose prompt is answered: several cards, one terminal, several phones, runs that are gone.

`gave:` is what came of a case when it was first carried out; without one it held.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path

import pytest

from burnin.cli.batch.asking import AsksKeeper
from burnin.cli.batch.at_terminal import AsksAtTerminal
from burnin.core.answers.form import YES_NO
from burnin.core.events import Event, PromptClosed, PromptOpened
from burnin.core.meaning import Prompt
from burnin.core.reading import NotMeasured
from burnin.record.batches.batch import CardOfBatch
from burnin.record.schema.folders import newest_record
from burnin.report.languages.catalogue import catalogue
from burnin.run.batch.member import Member
from burnin.run.batch.people import PromptQueue
from burnin.run.desk.at_desk import AtDesk, DeskAlone
from burnin.run.desk.calling import call
from burnin.run.desk.desk import Desk
from burnin.run.desk.letters import Answer, Stop
from burnin.run.desk.listening import socket_of
from burnin.run.desk.meanings import DeskReason
from burnin.run.leave.letters import Answered, OfKeeper, Wants
from burnin.run.prompters import NobodyThere
from burnin.stages.display.meanings import DisplayPrompt
from tests.cli.batch.test_asking import Foot, Person, run_and_keeper
from tests.others.page.served import Page, served, status_of
from tests.page.one_prompt import one_prompt
from tests.page.rounds import EIGHT, write_run

PATIENT_S = 30.0
FIRST = YES_NO.on(DisplayPrompt.CONNECT_MONITOR(output="DP-1"))
SECOND = YES_NO.on(DisplayPrompt.CONNECT_MONITOR(output="HDMI-A-2"))


def member(address: str, slot: int) -> Member:
    return Member(CardOfBatch(address, "Corvane Silt 4", slot), lambda _: [])


@dataclass
class Terminal:
    """The technician's terminal: what it shows, and a hand that types."""

    asks: AsksAtTerminal
    hand: int
    screen: Callable[[], str]
    seconds: list[float]
    seen: str = ""
    foot: Foot = field(default_factory=Foot)

    def until(self, text: str) -> None:
        end_s = time.monotonic() + PATIENT_S
        while text not in " ".join(self.seen.split()):
            assert time.monotonic() < end_s, f"never shown: {text}: {self.seen}"
            self.seen += self.screen()
            time.sleep(0.005)

    def types(self, text: str) -> None:
        os.write(self.hand, text.encode())

    def over(self) -> str | None:
        end_s = time.monotonic() + PATIENT_S
        while time.monotonic() < end_s:
            done, text = self.asks.answer()
            if done:
                return text
            time.sleep(0.005)
        raise AssertionError(f"the prompt never ended: {self.seen}")


@pytest.fixture
def terminal(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Iterator[Terminal]:
    hand, near = os.openpty()
    with open(near, encoding="utf-8") as stdin:  # noqa: PTH123
        monkeypatch.setattr(sys, "stdin", stdin)
        foot, seconds = Foot(), [100.0]
        asks = AsksAtTerminal(catalogue("en"), foot, {}, lambda: seconds[0])
        yield Terminal(asks, hand, lambda: capsys.readouterr().out, seconds, foot=foot)
        asks.withdraw()
        asks.answer()
        for thread in threading.enumerate():
            if thread.name == "prompt":
                thread.join(PATIENT_S)
    os.close(hand)


ONE, TWO = member("0000:01:00.0", 1), member("0000:02:00.0", 2)


def test_a_prompt_that_is_put_while_the_last_is_being_taken_away_stands_alone(
    terminal: Terminal,
) -> None:
    # gave: both stood, one thread each at the same keys: either could take what was typed for
    # the second card, and the first never went
    terminal.asks.ask(ONE, FIRST, 60.0)
    terminal.until("DP-1")
    terminal.asks.withdraw()
    terminal.asks.ask(TWO, SECOND, 60.0)
    terminal.until("HDMI-A-2")
    assert [t.name for t in threading.enumerate()].count("prompt") == 1
    terminal.seconds[0] += 60.0
    terminal.types("yes\n")
    assert terminal.over() == "yes"
    assert terminal.foot.changes == ["paused", "goes on"] * 2


def test_what_was_half_typed_for_one_card_answers_no_other(terminal: Terminal) -> None:
    terminal.asks.ask(ONE, FIRST, 60.0)
    terminal.until("DP-1")
    terminal.types("ye")
    terminal.asks.withdraw()
    assert terminal.over() is None
    terminal.asks.ask(TWO, SECOND, 60.0)
    terminal.until("HDMI-A-2")
    terminal.seconds[0] += 60.0
    terminal.types("no\n")
    assert terminal.over() == "no"


def test_a_key_on_its_way_to_a_prompt_that_was_taken_away_does_not_answer_the_next(
    terminal: Terminal,
) -> None:
    # gave: the second card was answered yes
    terminal.asks.ask(ONE, FIRST, 60.0)
    terminal.until("DP-1")
    terminal.asks.withdraw()
    assert terminal.over() is None
    terminal.asks.ask(TWO, SECOND, 60.0)
    terminal.until("HDMI-A-2")
    terminal.types("y\n")
    terminal.until("was over before that was typed")
    terminal.seconds[0] += 60.0
    terminal.types("n\n")
    assert terminal.over() == "n"


def test_enter_pressed_twice_at_one_card_leaves_out_nothing_of_the_next(
    terminal: Terminal,
) -> None:
    # gave: the second card's screen was left out by the second Enter
    terminal.asks.ask(ONE, FIRST, 60.0)
    terminal.until("DP-1")
    terminal.types("y\n\n")
    assert terminal.over() == "y"
    terminal.asks.ask(TWO, SECOND, 60.0)
    terminal.until("HDMI-A-2")
    terminal.types("n\n")
    assert terminal.over() == "n"


@pytest.mark.parametrize("typed", ["b", "s", ""])
def test_back_and_skip_are_those_of_the_card_that_is_shown(
    typed: str, terminal: Terminal, monkeypatch: pytest.MonkeyPatch
) -> None:
    cards = [member("0000:01:00.0", 1), member("0000:02:00.0", 2)]
    sent, queue = [kept(one, monkeypatch) for one in cards], PromptQueue(terminal.asks)
    for one, prompt, line in zip(cards, (FIRST, SECOND), ("y", typed), strict=True):
        one.wants = Wants(1, prompt, 60.0)
        queue.turn(cards)
        terminal.until(str(prompt["output"]))
        terminal.types(f"{line}\n")
        assert terminal.over() == line
    queue.turn(cards)
    assert sent == [[Answered(1, "y")], [Answered(1, typed)]]


def kept(one: Member, monkeypatch: pytest.MonkeyPatch) -> list[OfKeeper]:
    sent: list[OfKeeper] = []
    monkeypatch.setattr(one, "send", sent.append)
    return sent


class Hand(Person):
    """Somebody who may be asked anything."""

    def ask(self, member: Member, prompt: Prompt, timeout_s: float) -> None:  # noqa: ARG002
        self.shown.append(f"{member.address} {prompt['output']}")
        self.over = False


def test_an_answer_to_a_prompt_that_its_run_has_replaced_is_not_given_to_the_new_one(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # gave: the answer to the first was sent as that to the second
    person, one = Hand(), member("0000:01:00.0", 1)
    sent, queue = kept(one, monkeypatch), PromptQueue(person)
    one.wants = Wants(1, FIRST, 60.0)
    queue.turn([one])
    one.wants = Wants(2, SECOND, 60.0)
    person.over, person.said = True, "yes"
    queue.turn([one])
    assert Answered(2, "yes") not in sent
    queue.turn([one])
    assert person.shown == ["0000:01:00.0 DP-1", "0000:01:00.0 HDMI-A-2"]
    person.over, person.said = True, "no"
    queue.turn([one])
    assert sent[-1] == Answered(2, "no")


def test_a_prompt_that_waits_behind_another_goes_without_a_word_when_a_phone_answered_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    person, cards = Hand(), [member("0000:01:00.0", 1), member("0000:02:00.0", 2)]
    sent, queue = [kept(one, monkeypatch) for one in cards], PromptQueue(person)
    for one, prompt in zip(cards, (FIRST, SECOND), strict=True):
        one.wants = Wants(1, prompt, 60.0)
    queue.turn(cards)
    queue.withdraw(cards[1])
    person.over, person.said = True, "yes"
    queue.turn(cards)
    assert (person.withdrawn, person.shown) == (0, ["0000:01:00.0 DP-1"])
    assert sent == [[Answered(1, "yes")], []]


def test_the_prompt_of_a_card_whose_run_is_gone_makes_room_and_its_answer_is_nobodys(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # gave: it stood until somebody answered it or its time was over
    person, cards = Hand(), [member("0000:01:00.0", 1), member("0000:02:00.0", 2)]
    sent, queue = [kept(one, monkeypatch) for one in cards], PromptQueue(person)
    for one, prompt in zip(cards, (FIRST, SECOND), strict=True):
        one.wants = Wants(1, prompt, 60.0)
    queue.turn(cards)
    cards[0].card = replace(cards[0].card, ended=True)
    queue.turn(cards)
    assert person.withdrawn == 1
    queue.turn(cards)
    assert person.shown[-1] == "0000:02:00.0 HDMI-A-2"
    person.over, person.said = True, "no"
    queue.turn(cards)
    assert sent == [[], [Answered(1, "no")]]


def test_a_late_answer_to_an_earlier_prompt_is_not_that_of_the_next() -> None:
    with run_and_keeper() as (run, keeper):
        stop = [True]
        asks = AsksKeeper(run, lambda: stop[0])
        assert isinstance(asks.ask(FIRST, 60.0), NotMeasured)
        stop[0] = False
        for letter in (Answered(1, "yes"), Answered(9, "yes"), Answered(2, "no")):
            keeper.send(_packet(letter))
        assert asks.ask(SECOND, 60.0) == "no"


def _packet(letter: Answered) -> bytes:
    return json.dumps({"is": "Answered", "number": letter.number, "text": letter.text}).encode()


@contextmanager
def desk_in(
    folder: Path, told: list[Event] | None = None, asked_count: int = 0
) -> Iterator[Desk]:
    folder.mkdir(parents=True, exist_ok=True)
    desk, events = Desk(), list[Event]() if told is None else told
    with desk.open(folder, events.append, asked_count):
        yield desk


def test_an_answer_to_a_prompt_from_before_the_cut_is_not_one_to_the_resumed_run(
    tmp_path: Path,
) -> None:
    # gave: both were number 1: a phone that still showed the screen's question answered another
    with desk_in(tmp_path) as desk:
        before = desk.put(FIRST, 60.0)
    with desk_in(tmp_path, asked_count=1) as desk:
        after = desk.put(SECOND, 60.0)
        assert call(tmp_path, Answer(before, "yes")) == DeskReason.NOT_OPEN(number=before)
        assert call(tmp_path, Answer(after, "no")) is None


@pytest.mark.parametrize("first", ["page", "terminal"])
def test_of_two_answers_one_counts_and_only_its_giver_is_told_so(
    first: str, tmp_path: Path
) -> None:
    told: list[Event] = []
    replies: list[object] = []

    class Types(NobodyThere):
        def ask(self, prompt: Prompt, timeout_s: float) -> str | NotMeasured:  # noqa: ARG002
            if first == "page":
                replies.append(call(tmp_path, Answer(_number(told), "no")))
            return "yes"

    with desk_in(tmp_path, told) as desk:
        answer = AtDesk(Types(), desk).ask(FIRST, 60.0)
        replies.append(call(tmp_path, Answer(_number(told), "no")))
    closed = [event.by for event in told if isinstance(event, PromptClosed)]
    assert (answer, closed) == (("no", ["page"]) if first == "page" else ("yes", ["terminal"]))
    assert [reply is None for reply in replies] == ([True, False] if first == "page" else [False])


def _number(told: list[Event]) -> int:
    return [event.number for event in told if isinstance(event, PromptOpened)][-1]


def test_an_answer_after_the_end_was_asked_for_is_told_as_what_becomes_of_it(
    tmp_path: Path,
) -> None:
    # gave: it was thanked for, and then it counted after the stop
    with desk_in(tmp_path) as desk:
        number = desk.put(FIRST, 60.0)
        assert call(tmp_path, Stop()) is None
        assert call(tmp_path, Answer(number, "yes")) == DeskReason.NOT_OPEN(number=number)
        assert desk.take(number) is None
        assert isinstance(DeskAlone(desk, lambda: False).ask(SECOND, 60.0), NotMeasured)


Two = tuple[Page, list[Path], list[Desk], Path]


@pytest.fixture(scope="module")
def two_runs(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Two]:
    """Two cards' runs at their desks, and a page; of both `burnin page` shows the newest."""
    folder = tmp_path_factory.mktemp("two")
    results = folder / "results"
    folders = [write_run(results, n, replace(EIGHT[n], asks=None)) for n in (1, 2)]
    with ExitStack() as stack:
        desks = [stack.enter_context(desk_in(folder)) for folder in folders]
        page = stack.enter_context(served(results, folder / "shop"))
        yield page, folders, desks, results


def answer(page: Page, run: str, number: int, text: str, *, key: str = "") -> tuple[int, str]:
    content = json.dumps({"run": run, "prompt": number, "answer": text}).encode()
    head = (
        f"POST /answer?language=en HTTP/1.1\r\nHost: {page.host}\r\nOrigin: http://{page.host}\r\n"
        f"Authorization: Bearer {key or page.key}\r\nContent-Type: application/json\r\n"
        f"Content-Length: {len(content)}\r\n\r\n"
    )
    reply = page.ask(head.encode() + content)
    return status_of(reply), reply.partition(b"\r\n\r\n")[2].decode()


def test_a_page_gives_an_answer_to_the_run_and_the_prompt_that_it_was_typed_for_alone(
    two_runs: Two,
) -> None:
    page, folders, desks, _ = two_runs
    numbers = [desk.put(p, 60.0) for desk, p in zip(desks, (FIRST, SECOND), strict=True)]
    assert answer(page, folders[0].name, numbers[0], "yes", key="0" * len(page.key))[0] == 401
    assert answer(page, folders[0].name[:-1], numbers[0], "yes")[0] >= 400
    assert answer(page, f"../{folders[0].name}", numbers[0], "yes")[0] >= 400
    assert answer(page, folders[1].name, numbers[0] + numbers[1] + 7, "yes")[0] >= 400
    assert [desk.prompts.given(n) for desk, n in zip(desks, numbers, strict=True)] == [None, None]
    assert answer(page, folders[1].name, numbers[1], "no")[0] == 200
    assert [desk.prompts.given(n) for desk, n in zip(desks, numbers, strict=True)] == [None, "no"]
    status, said = answer(page, folders[1].name, numbers[1], "yes")
    assert status >= 400
    assert "answer" in said


@pytest.mark.long
def test_a_second_page_of_another_shop_has_another_key(
    two_runs: Two, tmp_path: Path
) -> None:
    page, folders, desks, results = two_runs
    number = desks[1].put(FIRST, 60.0)
    with served(results, tmp_path / "other") as other:
        assert other.key != page.key
        assert answer(other, folders[1].name, number, "yes", key=page.key)[0] == 401
        assert answer(other, folders[1].name, number, "yes")[0] == 200
        assert answer(page, folders[1].name, number, "no")[0] == 409
    assert desks[1].take(number) == "yes"


def test_an_answer_to_a_run_that_is_gone_is_refused_and_says_so(
    two_runs: Two, tmp_path: Path
) -> None:
    page, folders, desks, _ = two_runs
    number = desks[1].put(FIRST, 60.0)
    socket_of(folders[1]).rename(tmp_path / "away")
    try:
        status, said = answer(page, folders[1].name, number, "yes")
    finally:
        (tmp_path / "away").rename(socket_of(folders[1]))
    assert (status, desks[1].take(number)) == (409, None)
    assert "no run" in json.loads(said)["told"], said


@pytest.mark.long
def test_a_resumed_run_counts_its_prompts_on(tmp_path: Path) -> None:
    # gave: number 1 again, answered by whoever still saw the one from before the cut
    results = tmp_path / "results"
    words = [sys.executable, "-m", "burnin", "run", "--ask", "--results", str(results)]
    begin = ["-p", one_prompt(tmp_path), "--simulated", "dead_output"]
    for more in (begin, ["--resume"]):
        folder = newest_record(results)
        resume = [] if folder is None else [str(folder)]
        with subprocess.Popen(
            [*words, *more, *resume], env=os.environ | {"BURNIN_SHOP": str(tmp_path)},
            stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
        ) as process:  # fmt: skip
            folder, opened = _opened(results, 2 if resume else 1)
            if resume:
                assert call(folder, Answer(1, "yes")) == DeskReason.NOT_OPEN(number=1)
                assert call(folder, Answer(opened, "no")) is None
            process.kill()


def _opened(results: Path, count: int) -> tuple[Path, int]:
    """The record, and the number of its newest prompt, once so many were put."""
    end_s = time.monotonic() + 2 * PATIENT_S
    while time.monotonic() < end_s:
        folder = newest_record(results)
        if folder is not None and (folder / "journal.csv").is_file():
            lines = (folder / "journal.csv").read_text("utf-8").splitlines()
            puts = [line for line in lines if "PromptOpened" in line]
            if len(puts) == count:
                number = re.search(r'"+number"+: ?(\d+)', puts[-1])
                assert number is not None, puts
                return folder, int(number[1])
        time.sleep(0.05)
    raise AssertionError("never asked")
