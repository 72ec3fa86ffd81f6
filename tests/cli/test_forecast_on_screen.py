"""What the terminal shows of a forecast, a warning, and of what to look at after a stop."""

from __future__ import annotations

import io

import pytest
from rich.console import Console

from burnin.cli.terminal.figures import forecast_text
from burnin.cli.terminal.screen import Screen
from burnin.core.events import (
    Event,
    ForecastMade,
    ForecastsJudged,
    GuardTripped,
    SampleTaken,
    WarningGiven,
    WarningOver,
)
from burnin.core.foreseen import ForecastsKept, Foreseen, StillLikely
from burnin.core.sample import Sample, Telemetry
from burnin.guard.forecast_band import notes_of
from burnin.guard.meanings import GuardNote, GuardReason, GuardTerm
from burnin.report.languages.catalogue import catalogue
from burnin.thermal.meanings import CoolingCause, CoolingCheck, CoolingTerm

STAGE = "6-thermal_ramp"
BAND = tuple(
    Foreseen(ahead, 60.0 + ahead, 55.0 + ahead, 66.0 + ahead) for ahead in (5.0, 10.0, 30.0)
)
PEAK = GuardNote.PEAK_EXPECTED(peak_c=81.0, cooling=CoolingTerm.HEALTHY_AIR())


def shown(*events: Event, language: str = "en", width: int = 140) -> str:
    out = io.StringIO()
    screen = Screen(Console(file=out, width=width, highlight=False), catalogue(language))
    for event in events:
        screen(event)
    return out.getvalue()


def made(band: tuple[Foreseen, ...]) -> ForecastMade:
    return ForecastMade("forecast", "gpu_temp_c", 90.0, 40.0, PEAK, band)


def test_the_line_of_a_forecast_has_its_band_10_s_and_30_s_ahead() -> None:
    told = forecast_text(made(BAND), catalogue("en"))
    assert told.startswith("95 %: in 10 s 70 °C (65 to 76), in 30 s 90 °C (85 to 96); ")
    assert told.endswith(forecast_text(made(()), catalogue("en")))
    assert "75 bis" not in told
    assert "in 10 s 70 °C (65 bis 76)" in forecast_text(made(BAND), catalogue("de"))


@pytest.mark.parametrize("loaded", [True, False])
def test_it_is_shown_while_a_load_stands(loaded: bool) -> None:
    out = io.StringIO()
    terminal = Console(file=out, width=160, highlight=False, force_terminal=True)
    screen = Screen(terminal, catalogue("en"))
    screen(made(BAND))
    telemetry = Telemetry(gpu_temp_c=60.0)
    screen(SampleTaken(Sample(1.0, "", STAGE, telemetry, load_share=0.5 if loaded else 0.0)))
    screen.close()
    assert ("in 10 s 70 °C" in out.getvalue()) is loaded


def warning(language: str) -> str:
    note = GuardNote.WARNS(
        signal=GuardTerm.GPU(), limit_c=90.0, crossing_in_s=42.4, sure_pct=63.0,
        cause=CoolingCause.FAN(),
    )  # fmt: skip
    given = WarningGiven(
        STAGE, "forecast", "gpu_temp_c", 61.0, 90.0, 0.63, 42.4, CoolingCause.FAN(),
        CoolingCheck.FANS(), note,
    )  # fmt: skip
    over = GuardNote.WARNING_LESS_LIKELY(stood_s=12.0)
    return shown(given, WarningOver(STAGE, "forecast", "gpu_temp_c", 12.0, over), language=language)


def test_a_warning_is_a_line_with_cause_probability_and_time() -> None:
    first, check, last = warning("en").splitlines()
    assert first.strip().startswith("warning: ")
    for part in ("90 °C", "42 s", "63 %", "fan"):
        assert part in first
    assert "fan" in check
    assert "12 s" in last
    assert warning("de").startswith("    Warnung: ")


def tripped(likely: tuple[StillLikely, ...]) -> list[str]:
    reason = GuardReason.RISES_TOO_FAST(rise_k_per_s=9.0, over_s=1.0, limit_k_per_s=8.0)
    event = GuardTripped(
        STAGE, "rate limit", "gpu_temp_c", 9.0, 8.0, reason, CoolingCause.MOUNT(),
        CoolingCheck.MOUNT(), likely,
    )  # fmt: skip
    return [line.strip() for line in shown(event).splitlines()]


def test_after_a_stop_what_to_look_at_is_told_in_order() -> None:
    words = catalogue("en")
    likely = (
        StillLikely(CoolingCause.MOUNT(), CoolingCheck.MOUNT(), 0.7),
        StillLikely(CoolingCause.CLOGGED(), CoolingCheck.DUST(), 0.25),
    )
    first, second = tripped(likely)[-2:]
    assert first == f"1. {words.say(likely[0].cause)} (70 %): {words.say(likely[0].check)}"
    assert second == f"2. {words.say(likely[1].cause)} (25 %): {words.say(likely[1].check)}"
    alone = tripped(())
    assert alone[-2:] == [
        f"suspected: {words.say(CoolingCause.MOUNT())}",
        f"check: {words.say(CoolingCheck.MOUNT())}",
    ]


def test_after_a_run_a_line_says_how_good_the_forecasts_were() -> None:
    kept = (ForecastsKept(10.0, 200, 190, 0.84), ForecastsKept(30.0, 100, 88, 1.52))
    told = " ".join(shown(ForecastsJudged(kept, notes_of(kept))).split())
    for part in ("10 s ahead: 95 % of 200", "0.8 K", "30 s ahead: 88 % of 100", "1.5 K"):
        assert part in told
