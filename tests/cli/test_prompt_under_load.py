"""A prompt in a real terminal that stands while a card works: looked at, never waited for."""

from __future__ import annotations

import io
import os
import sys
from collections.abc import Iterator

import pytest
from rich.console import Console

from burnin.cli.terminal.live_lines import LiveLines
from burnin.cli.terminal.prompter import TerminalPrompter
from burnin.cli.terminal.screen import Screen
from burnin.core.events import Asked, Event, Noted
from burnin.core.quantities.quantity import parse_quantity
from burnin.core.quantities.spelling import VOLT
from burnin.core.reading import NotMeasured
from burnin.report.languages.catalogue import catalogue
from burnin.run.prompters import NobodyThere, OnRecord, SaidBeforehand
from burnin.run.reasons import RunReason
from burnin.sim.bench import simulated_bench
from burnin.sim.clock import SimulatedClock
from burnin.stages.display.meanings import DisplayPrompt
from burnin.stages.meanings import StagesReason
from burnin.stages.movement.meanings import MovementEvent, MovementNote, MovementTerm
from burnin.stages.standing_prompt import Question

PROMPT = DisplayPrompt.CONNECT_MONITOR(output="DP-2")


class Keyboard:
    """The far end of a terminal."""

    def __init__(self, far: int) -> None:
        self._far = far

    def types(self, text: str) -> None:
        os.write(self._far, text.encode())

    def leaves(self) -> None:
        os.write(self._far, b"\x04")


@pytest.fixture
def keyboard(monkeypatch: pytest.MonkeyPatch) -> Iterator[Keyboard]:
    far, near = os.openpty()
    with open(near, encoding="utf-8") as terminal:  # noqa: PTH123
        monkeypatch.setattr(sys, "stdin", terminal)
        yield Keyboard(far)
    os.close(far)


@pytest.fixture(scope="module")
def clock() -> SimulatedClock:
    return simulated_bench("healthy").clock


def terminal(kept: list[str] | None = None) -> TerminalPrompter:
    keep = (kept if kept is not None else []).append
    return TerminalPrompter(catalogue("en").say, lambda: None, lambda: False, keep)


def volts(text: str) -> float | None:
    return parse_quantity(text, VOLT).value


def test_a_line_is_an_answer_once_it_is_typed_to_its_end(keyboard: Keyboard) -> None:
    stands = terminal().put(PROMPT, 30.0)
    assert stands.look() is None
    keyboard.types("35 ")
    assert stands.look() is None
    keyboard.types("mV\n")
    assert stands.look() == "35 mV"


def test_what_was_typed_before_a_prompt_is_no_answer_to_it(keyboard: Keyboard) -> None:
    keyboard.types("too early\n")
    stands = terminal().put(PROMPT, 30.0)
    assert stands.look() is None
    keyboard.types("yes\n")
    assert stands.look() == "yes"


def test_a_terminal_that_is_left_answers_nothing(keyboard: Keyboard) -> None:
    stands = terminal().put(PROMPT, 30.0)
    keyboard.leaves()
    assert stands.look() == NotMeasured(RunReason.NOBODY_AT_HAND())


def test_its_line_is_kept_below_until_it_is_over(keyboard: Keyboard) -> None:
    kept: list[str] = []
    stands = terminal(kept).put(PROMPT, 30.0)
    assert "DP-2" in kept[-1]
    stands.withdraw()
    assert kept[-1] == ""


def test_live_lines_rest_under_a_prompt_and_what_is_printed_stands_above_it() -> None:
    out = io.StringIO()
    lines = LiveLines(Console(file=out, width=80, force_terminal=True, highlight=False))
    lines.keep_below(">>> volts? ")
    lines.show(sample="62 °C")
    lines.print("a guard warns")
    assert "62 °C" not in out.getvalue()
    assert out.getvalue().endswith("a guard warns\n>>> volts? ")
    lines.keep_below("")
    lines.show(sample="63 °C")
    lines.stop()
    assert "63 °C" in out.getvalue()


def test_what_comes_by_touch_is_told_at_once() -> None:
    out = io.StringIO()
    screen = Screen(Console(file=out, width=100, highlight=False), catalogue("de"))
    event = MovementEvent.LINK_NARROWER(from_lanes=16, to_lanes=4)
    note = MovementNote.HAPPENED(during=MovementTerm.EDGE(), event=event, at_s=31.25)
    screen(Noted("4-movement", note))
    assert "auf die Kante der Karte gedrückt" in out.getvalue()
    assert "von 16 auf 4" in out.getvalue()


def test_a_value_goes_through_the_grammar_and_a_bad_one_is_asked_again(
    keyboard: Keyboard, clock: SimulatedClock, capsys: pytest.CaptureFixture[str]
) -> None:
    question = Question(terminal(), clock, PROMPT, 30.0, volts)
    keyboard.types("thirty\n")
    assert question.look() is None
    assert "'thirty' is not a value" in capsys.readouterr().out
    keyboard.types("35 mV\n")
    assert question.look() == pytest.approx(0.035)
    assert question.look() == pytest.approx(0.035)


@pytest.mark.parametrize("line", ["\n", "-\n", "skip\n", "weiter\n"])
def test_whoever_skips_is_not_measured(
    line: str, keyboard: Keyboard, clock: SimulatedClock
) -> None:
    question = Question(terminal(), clock, PROMPT, 30.0, volts)
    keyboard.types(line)
    assert question.look() == NotMeasured(StagesReason.PROMPT_SKIPPED())


def test_a_prompt_ends_with_its_time_and_a_second_try_gives_no_more_of_it(
    keyboard: Keyboard, clock: SimulatedClock
) -> None:
    question = Question(terminal(), clock, PROMPT, 10.0, volts)
    clock.sleep_s(9.0)
    keyboard.types("what?\n")
    assert question.look() is None
    clock.sleep_s(1.5)
    assert question.look() == NotMeasured(StagesReason.PROMPT_TIMED_OUT(waited_s=10.0))


def test_a_prompt_is_withdrawn_with_the_reason_for_which_the_load_ends(
    keyboard: Keyboard, clock: SimulatedClock
) -> None:
    events: list[Event] = []
    asks = OnRecord(terminal(), "5-under_load", events.append)
    question = Question(asks, clock, PROMPT, 10.0, volts)
    why = RunReason.CARD_GONE()
    assert question.withdraw(why) == NotMeasured(StagesReason.PROMPT_WITHDRAWN(reason=why))
    keyboard.types("0.5\n")
    assert question.look() == NotMeasured(StagesReason.PROMPT_WITHDRAWN(reason=why))
    assert events == [Asked("5-under_load", PROMPT, "")]


def test_what_was_answered_is_on_record_once(keyboard: Keyboard, clock: SimulatedClock) -> None:
    events: list[Event] = []
    asks = OnRecord(terminal(), "5-under_load", events.append)
    question = Question(asks, clock, PROMPT, 10.0, volts)
    keyboard.types("0,452 V\n")
    assert question.look() == pytest.approx(0.452)
    question.look()
    assert events == [Asked("5-under_load", PROMPT, "0,452 V")]


@pytest.mark.parametrize("asks", [NobodyThere(), SaidBeforehand(frozenset({"DP-2"}))])
def test_where_nobody_is_at_hand_that_is_the_reason_at_once_and_nothing_was_asked(
    asks: object, clock: SimulatedClock
) -> None:
    events: list[Event] = []
    recorded = OnRecord(asks, "5-under_load", events.append)  # type: ignore[arg-type]
    question = Question(recorded, clock, PROMPT, 10.0, volts)
    assert question.look() == NotMeasured(RunReason.NOBODY_AT_HAND())
    assert not events


def test_a_prompter_that_can_only_wait_is_not_asked_under_load(clock: SimulatedClock) -> None:
    class Waits:
        def ask(self, prompt: object, timeout_s: float) -> str:  # noqa: ARG002
            raise AssertionError("a load would have gone on without its watch")

    events: list[Event] = []
    asks = OnRecord(Waits(), "5-under_load", events.append)
    question = Question(asks, clock, PROMPT, 10.0, volts)
    assert question.look() == NotMeasured(StagesReason.PROMPT_CANNOT_STAND())


def test_the_key_for_the_one_before_is_told_to_lead_nowhere_in_a_run(
    keyboard: Keyboard, clock: SimulatedClock, capsys: pytest.CaptureFixture[str]
) -> None:
    question = Question(terminal(), clock, PROMPT, 30.0, volts)
    keyboard.types("z\n")
    assert question.look() is None
    assert "There is no way back in a run" in capsys.readouterr().out
    keyboard.types("0.5\n")
    assert question.look() == pytest.approx(0.5)
