"""What the terminal shows of a reading and of a prompt, in each language."""

from __future__ import annotations

import io
import sys

import pytest
from rich.console import Console

from burnin.cli.terminal.figures import fitted, limit_text, title_text, value_text, verdict_text
from burnin.cli.terminal.prompter import TerminalPrompter
from burnin.cli.terminal.screen import Screen
from burnin.core.events import RunFinished, StageFinished
from burnin.core.reading import Limit, NotMeasured, judge, judge_text, not_measured
from burnin.core.verdict import Ended, OwedWhat, OwedWork, RunVerdict, StageVerdict, VerdictReason
from burnin.report.languages.catalogue import catalogue
from burnin.run.reasons import RunReason
from burnin.stages.display.meanings import DisplayPrompt

ENGLISH, GERMAN = catalogue("en"), catalogue("de")


def test_a_value_stands_with_unit_uncertainty_and_the_languages_comma() -> None:
    reading = judge("power_w", 412.4, "W", Limit(upper=450.5), uncertainty=2.5)
    assert value_text(reading, ENGLISH) == "412 ± 2.5 W"
    assert value_text(reading, GERMAN) == "412 ± 2,5 W"
    assert limit_text(reading, GERMAN) == "≤ 450,5"
    assert verdict_text(reading, GERMAN) == "bestanden"
    assert verdict_text(judge("power_w", 1.0, "W", None), ENGLISH) == "recorded"


def test_words_are_those_of_the_language() -> None:
    reading = judge_text("engine_works_this_card", "not this card", ("proven",))
    assert value_text(reading, GERMAN) == "nicht diese Karte"
    assert limit_text(reading, GERMAN) == "nachgewiesen"
    assert value_text(not_measured("power_w", "W", RunReason.CARD_GONE()), GERMAN) == "–"


@pytest.mark.parametrize("width", [20, 28, 42])
def test_what_tells_a_reading_from_its_like_is_never_cut_away(width: int) -> None:
    shown = {
        fitted(title_text(judge(f"screen_lost_times {output}", 0.0, "", None), words, width), width)
        for output in ("DP-1", "DP-2", "HDMI-A-1")
        for words in (ENGLISH,)
    }
    assert len(shown) == 3
    assert all(len(title) == width and title.endswith(" ") for title in shown)


def console() -> tuple[Console, io.StringIO]:
    out = io.StringIO()
    return Console(file=out, width=100, highlight=False), out


@pytest.mark.parametrize("verdict", [*RunVerdict])
def test_every_verdict_has_its_large_word_in_every_language(verdict: RunVerdict) -> None:
    for words in (ENGLISH, GERMAN):
        terminal, out = console()
        reason = VerdictReason.ALL_STAGES_PASSED(stages_count=7)
        screen = Screen(terminal, words)
        screen(RunFinished("2026-03-02T09:15:00.000Z", verdict, reason, Ended.DONE))
        assert words.say(reason) in out.getvalue()
        assert "cli_" not in out.getvalue()


@pytest.mark.parametrize("verdict", [*StageVerdict])
def test_every_verdict_of_a_stage_is_shown(verdict: StageVerdict) -> None:
    terminal, out = console()
    Screen(terminal, GERMAN)(StageFinished("1-link", "link", verdict))
    assert out.getvalue().strip()
    assert "cli_" not in out.getvalue()


def test_owed_work_of_one_reason_stands_on_one_line() -> None:
    terminal, out = console()
    why = RunReason.LEFT_OUT_BY_HAND()
    owed = tuple(
        OwedWork(f"{n}-x", OwedWhat.STAGE(stage=name), why) for n, name in enumerate("ABC")
    )
    reason = VerdictReason.ALL_STAGES_PASSED(stages_count=7)
    Screen(terminal, ENGLISH)(
        RunFinished("2026-03-02T09:15:00.000Z", RunVerdict.CONDITIONAL, reason, Ended.DONE, owed)
    )
    assert "- A, B, C: left out by hand" in out.getvalue()


def test_a_prompt_is_worded_and_times_out(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    prompt = DisplayPrompt.CONNECT_MONITOR(output="DP-2")
    paused: list[bool] = []
    asks = TerminalPrompter(GERMAN.say, lambda: paused.append(True), lambda: True)
    answer = asks.ask(prompt, 30.0)
    assert answer == NotMeasured(RunReason.NOBODY_ANSWERED(waited_s=30.0))
    assert paused == [True]
    shown = capsys.readouterr().out
    assert GERMAN.say(prompt) in " ".join(shown.split())
    assert "DP-2" in shown
    monkeypatch.setattr(sys, "stdin", io.StringIO("ja \n"))
    monkeypatch.setattr("select.select", lambda *_: ([sys.stdin], [], []))
    asks = TerminalPrompter(GERMAN.say, lambda: None, lambda: False)
    assert asks.ask(prompt, 30.0) == "ja"
