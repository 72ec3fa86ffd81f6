"""What the terminal shows of a reading and of a prompt, in each language."""

from __future__ import annotations

import io
import sys

import pytest
from rich.console import Console

from burnin.cli.terminal.figures import fitted, limit_text, title_text, value_text, verdict_text
from burnin.cli.terminal.prompter import TerminalPrompter
from burnin.cli.terminal.reading_row import reading_row
from burnin.cli.terminal.screen import Screen
from burnin.core.count_readings import judge_count
from burnin.core.events import RunFinished, StageFinished
from burnin.core.reading import (
    Limit,
    NotMeasured,
    Verdict,
    judge,
    judge_text,
    not_measured,
)
from burnin.core.verdict import Ended, OwedWhat, OwedWork, RunVerdict, StageVerdict, VerdictReason
from burnin.report.languages.catalogue import Catalogue, catalogue
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


@pytest.mark.parametrize("words", [ENGLISH, GERMAN])
@pytest.mark.parametrize("width", [40, 60, 80, 120])
def test_a_row_fits_the_terminal_and_nothing_of_it_is_cut_away(
    words: Catalogue, width: int
) -> None:
    for reading in (
        judge("memory_temp_max_c", 50.0, "°C", Limit(upper=100.0), uncertainty=0.58),
        judge("screen_lost_times HDMI-A-1", 0.0, "", Limit(0, 0)),
        judge_text("cooling_state", "air_healthy", ("air_healthy", "water_healthy")),
        judge_count("new_link_errors", 0, 9.85201),
        not_measured("memory_rate_ratio", "", RunReason.CARD_GONE()),
    ):
        shown = reading_row(reading, words, width).plain
        assert "…" not in shown
        assert max(map(len, shown.splitlines())) <= width
        told = "".join(shown.split())
        for part in (
            words.reading(reading.name),
            value_text(reading, words),
            limit_text(reading, words),
            verdict_text(reading, words),
        ):
            if width < 76:
                assert "".join(part.split()) in told
            assert all(word in told for word in part.split() if len(word) < 11)


def test_a_bound_on_a_count_is_told_as_a_count() -> None:
    """The most events that pass, by the exact interval: 0.41 expected allow 2, 9.852 allow 15."""
    for allowed in (0.414605, 4.926, 9.85201, 250.0):
        shown = limit_text(judge_count("new_link_errors", 0, allowed), ENGLISH)
        most = int(shown.removeprefix("at most "))
        assert judge_count("n", most, allowed).verdict is Verdict.PASS
        assert judge_count("n", most + 1, allowed).verdict is Verdict.FAIL
    assert limit_text(judge("n", 0.0, "", Limit(0.0, 9.0)), GERMAN) == "höchstens 9"
    assert limit_text(judge("n", 0.5, "", Limit(0.0, 1.0)), ENGLISH) == "≥ 0 and ≤ 1"
