"""A prompt that stands while a load works lies at the desk too: the first answer counts."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from burnin.core.events import Event, PromptClosed, PromptOpened
from burnin.core.meaning import Prompt, PromptCode
from burnin.core.reading import NotMeasured
from burnin.run.desk.at_desk import AtDesk, DeskAlone
from burnin.run.desk.desk import Desk
from burnin.run.desk.letters import Answer
from burnin.run.prompters import NobodyThere
from burnin.run.reasons import RunReason
from burnin.stages.standing_prompt import Settled, StandingPrompt


class Some(PromptCode):
    LOOK = "test_standing_look"


PROMPT = Some.LOOK()


class Elsewhere:
    """Somebody at another place, who answers when told to."""

    def __init__(self) -> None:
        self.answer: str | NotMeasured | None = None
        self.withdrawn = 0

    def ask(self, prompt: Prompt, timeout_s: float) -> str | NotMeasured:  # noqa: ARG002
        raise AssertionError("a standing prompt is put, never waited for")

    def put(self, prompt: Prompt, timeout_s: float) -> StandingPrompt:  # noqa: ARG002
        return self

    def look(self) -> str | NotMeasured | None:
        return self.answer

    def withdraw(self) -> None:
        self.withdrawn += 1


@pytest.fixture
def told() -> list[Event]:
    return []


@pytest.fixture
def desk(tmp_path: Path, told: list[Event]) -> Iterator[Desk]:
    opened = Desk()
    with opened.open(tmp_path, told.append):
        yield opened


def test_an_answer_at_the_desk_takes_the_prompt_away_elsewhere(
    desk: Desk, told: list[Event]
) -> None:
    other = Elsewhere()
    stands = AtDesk(other, desk).put(PROMPT, 60.0)
    assert stands.look() is None
    assert desk.hear(Answer(1, "12,1 V")) is None
    assert stands.look() == "12,1 V"
    assert other.withdrawn == 1
    assert [type(event) for event in told] == [PromptOpened, PromptClosed]
    refused = desk.hear(Answer(1, "11 V"))
    assert refused is not None
    assert stands.look() == "12,1 V"


def test_an_answer_elsewhere_closes_it_at_the_desk(desk: Desk, told: list[Event]) -> None:
    other = Elsewhere()
    stands = AtDesk(other, desk).put(PROMPT, 60.0)
    other.answer = "yes"
    assert stands.look() == "yes"
    (closed,) = (event for event in told if isinstance(event, PromptClosed))
    assert closed.by == "terminal"
    assert desk.hear(Answer(1, "no")) is not None


def test_a_terminal_that_was_closed_leaves_it_at_the_desk(desk: Desk) -> None:
    other = Elsewhere()
    stands = AtDesk(other, desk).put(PROMPT, 60.0)
    other.answer = NotMeasured(RunReason.NOBODY_AT_HAND())
    assert stands.look() is None
    assert desk.hear(Answer(1, "yes")) is None
    assert stands.look() == "yes"


def test_a_prompt_that_is_withdrawn_can_no_longer_be_answered(desk: Desk) -> None:
    other = Elsewhere()
    stands = AtDesk(other, desk).put(PROMPT, 60.0)
    stands.withdraw()
    assert other.withdrawn == 1
    assert desk.hear(Answer(1, "yes")) is not None
    assert stands.look() is None


def test_the_desk_alone_lets_one_stand_and_nobody_waits(desk: Desk) -> None:
    stands = DeskAlone(desk, lambda: False).put(PROMPT, 60.0)
    assert stands.look() is None
    assert desk.hear(Answer(1, "clean")) is None
    assert stands.look() == "clean"


def test_without_a_desk_it_stands_elsewhere_or_nowhere() -> None:
    closed = Desk()
    other = Elsewhere()
    assert AtDesk(other, closed).put(PROMPT, 60.0) is other
    for prompter in (DeskAlone(closed, lambda: False), AtDesk(NobodyThere(), closed)):
        stands = prompter.put(PROMPT, 60.0)
        assert isinstance(stands, Settled)
        assert isinstance(stands.look(), NotMeasured)
