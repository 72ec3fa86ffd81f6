"""Letters between a run and its keeper arrive as they were sent, and rubbish is no letter."""

from __future__ import annotations

import contextlib
import json
import socket
from collections.abc import Iterator

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.run.leave.giver import Given, Never, Wait
from burnin.run.leave.letters import (
    Answered,
    Asks,
    Began,
    Go,
    HasEnded,
    IsAtRest,
    IsOver,
    MayLoad,
    MayNever,
    MustWait,
    OfKeeper,
    OfRun,
    Reads,
    Shows,
    Wants,
    WantsNoMore,
    as_packet,
    letter_of,
)
from burnin.run.leave.meanings import LeaveReason, LeaveTerm
from burnin.run.leave.need import Need
from burnin.run.leave.of_batch import OfBatch
from burnin.stages.display.meanings import DisplayPrompt

WHY = LeaveReason.BEHIND(address="0000:02:00.0")
PROMPT = DisplayPrompt.CONNECT_MONITOR(output="DP-1")
LETTERS: list[OfRun | OfKeeper] = [
    Began("results/x", "x", 12), Asks(1, "2-link", 130.0, 130.0, ["0000:00:01.0"], 0),
    Asks(2, "3-compute", None, 0.0, None), IsOver(1), Reads(20.5), Wants(1, PROMPT, 60.0),
    Shows("link", "", 1, 4, 0, None, 40.0), WantsNoMore(1), HasEnded("pass", WHY), Go(),
    MayLoad(1, True), MustWait(1, WHY), MayNever(1, WHY), IsAtRest(1), Answered(1, "yes"),
    Answered(1, None),
]  # fmt: skip


@pytest.mark.parametrize("letter", LETTERS, ids=lambda letter: type(letter).__name__)
def test_a_letter_arrives_as_it_was_sent(letter: OfRun | OfKeeper) -> None:
    assert letter_of(as_packet(letter)) == letter


@pytest.mark.parametrize(
    "content",
    [
        {}, [], None, {"is": "Nonesuch"}, {"is": "Reads"}, {"is": "Reads", "power_w": "20"},
        {"is": "Reads", "power_w": True}, {"is": "Go", "more": 1}, {"is": "MayLoad", "number": 1.5,
        "bounded": True}, {"is": "MustWait", "number": 1, "why": "no"},
        {"is": "Asks", "number": 1, "stage": "x", "watts": None, "step_w": 0.0, "ways": [1]},
    ],
)  # fmt: skip
def test_what_is_no_letter_is_nothing(content: object) -> None:
    assert letter_of(json.dumps(content).encode()) is None


@given(st.binary(max_size=200))
def test_rubbish_is_nothing(packet: bytes) -> None:
    assert letter_of(packet) is None


Pair = tuple[OfBatch, socket.socket]


@pytest.fixture
def pair() -> Iterator[Pair]:
    """A run's end of the socket, and the keeper's."""
    ours, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
    with ours, contextlib.closing(OfBatch(theirs.detach())) as run:
        yield run, ours


def need(stage: str) -> Need:
    return Need(stage, 130.0, 130.0, LeaveTerm.BY_OWN_LIMIT())


def test_an_answer_to_an_earlier_asking_is_none_to_this_one(pair: Pair) -> None:
    run, keeper = pair
    run.ask(need("2-compute"))
    keeper.send(as_packet(MayNever(1, WHY)))
    assert run.answer(1.0) == Never(WHY)
    run.ask(need("3-memory"))
    keeper.send(as_packet(MayLoad(1, True)))
    keeper.send(as_packet(MustWait(2, WHY)))
    assert run.answer(1.0) == Wait(WHY)
    keeper.send(as_packet(MayLoad(2, True)))
    assert run.answer(1.0) == Given()
    assert not run.at_rest()
    run.over()
    keeper.send(as_packet(IsAtRest(2)))
    assert run.at_rest(1.0)


def test_a_keeper_that_is_gone_ends_the_run_and_holds_up_nothing(pair: Pair) -> None:
    run, keeper = pair
    assert run.why_stop() is False
    run.ask(need("2-compute"))
    keeper.close()
    assert run.why_stop() == LeaveReason.KEEPER_GONE()
    assert run.at_rest()
    assert isinstance(run.answer(), Wait)  # nobody gives leave any more
    assert run.prompt_answer(1, 0.0) == (True, None)


def test_what_a_stopped_keeper_cannot_take_follows_in_order(pair: Pair) -> None:
    run, keeper = pair
    count = 0
    while run.tell(Reads(float(count))):
        count += 1
    run.ask(need("2-compute"))
    run.over()
    found = []
    keeper.setblocking(False)
    for _ in range(count):
        found.append(letter_of(keeper.recv(4096)))
    assert found[0] == Reads(0.0)
    run.why_stop()  # as before each sample
    assert [type(letter_of(keeper.recv(4096))) for _ in range(2)] == [Asks, IsOver]
