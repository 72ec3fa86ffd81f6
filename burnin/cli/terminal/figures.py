"""Values as the terminal shows them, in the words of a catalogue."""

from __future__ import annotations

from burnin.cli.terms import ScreenTerm
from burnin.core.count_readings import count_limit
from burnin.core.events import ForecastMade, GuardTripped
from burnin.core.meaning import Term
from burnin.core.reading import NotMeasured, Reading
from burnin.core.sample import Sample
from burnin.guard.forecast_band import foreseen_note
from burnin.report.languages.catalogue import Catalogue
from burnin.run.time_left import Left


def number(value: float) -> str:
    """A number with the digits that a person reads."""
    if value == int(value) and abs(value) < 1e15:
        return f"{int(value):,}".replace(",", " ")
    return f"{value:.3g}" if abs(value) < 100 else f"{value:.0f}"


_LEAST_KIND = 8
"""Columns of what a reading is that stay before what tells it from its like."""


def fitted(text: str, width: int) -> str:
    """Text cut or filled up to a width, with at least one blank at its end."""
    return f"{text[: width - 2] + '…' if len(text) > width - 1 else text:<{width}}"


def title_text(reading: Reading, words: Catalogue, width: int) -> str:
    """The title of a reading; where it is too long, what tells it from its like is kept.

    That is what follows in its name: the output of an EDID, the pattern of a memory test.
    """
    whole, kind = words.reading(reading.name), words.reading(reading.name.partition(" ")[0])
    rest = whole.removeprefix(kind)
    if len(whole) < width or not rest or len(rest) > width - _LEAST_KIND:
        return whole
    return f"{kind[: width - len(rest) - 2].rstrip()}…{rest}"


def value_text(reading: Reading, words: Catalogue) -> str:
    """Value with its unit and uncertainty."""
    if reading.value is None:
        return "–"
    if isinstance(reading.value, str):
        return words.word(reading.value)
    text = number(reading.value)
    if reading.uncertainty:
        text += f" ± {reading.uncertainty:.2g}"
    return f"{words.number(text)} {words.unit(reading.unit)}".rstrip()


def left_text(left: Left, words: Catalogue) -> str:
    """The time that is left; empty where nobody can say any of it."""
    if left.run_s <= 0.0:
        return ""
    if not left.is_all:
        return words.say(ScreenTerm.LEFT_AT_LEAST(run_s=left.run_s))
    if left.stage_s is None:
        return words.say(ScreenTerm.LEFT_OF_RUN(run_s=left.run_s))
    return words.say(ScreenTerm.LEFT(stage_s=left.stage_s, run_s=left.run_s))


def limit_text(reading: Reading, words: Catalogue) -> str:
    """The limit as the terminal shows it."""
    if reading.limit is not None:
        return words.say(count_limit(reading) or reading.limit.term())
    allowed = [words.word(name) for name in reading.allowed]
    return f" {words.word('or')} ".join(allowed)


def verdict_text(reading: Reading, words: Catalogue) -> str:
    """The verdict in words, or that nothing judges this value."""
    if reading.verdict is None:
        return words.say(ScreenTerm.RECORDED())
    return words.word(reading.verdict.value)


def live_text(sample: Sample, words: Catalogue) -> str:
    """Temperature, power, link and clock of one sample, on one line."""
    told = sample.telemetry
    parts = []
    for label, value, unit in (
        ("GPU", told.gpu_temp_c, "°C"),
        (words.say(ScreenTerm.HOT_SPOT()), told.hotspot_temp_c, "°C"),
        ("", told.power_w, "W"),
        ("", told.core_clock_mhz, "MHz"),
        (words.say(ScreenTerm.FAN()), told.fan_rpm, "rpm"),
    ):
        if not isinstance(value, NotMeasured):
            parts.append(f"{label} {value:.0f} {words.unit(unit)}".strip())
    width, speed = told.link_width_lanes, told.link_speed_gts
    if not isinstance(width, NotMeasured) and not isinstance(speed, NotMeasured):
        parts.append(f"x{width:.0f}, {words.number(f'{speed:g}')} GT/s")
    return "  ".join(parts) if parts else words.say(ScreenTerm.NO_SENSOR())


SHOWN_S = (10.0, 30.0)
"""Of a band, what there is room for on one line."""


def forecast_text(event: ForecastMade, words: Catalogue) -> str:
    """What is expected of the limit, and what the GPU should read some seconds from now."""
    band = [f for f in event.band if any(abs(f.ahead_s - shown) < 1.0 for shown in SHOWN_S)]
    ahead = words.says((foreseen_note(foreseen) for foreseen in band), between=", ")
    told = words.say(event.forecast)
    return words.say(ScreenTerm.FORECAST(band=ahead, expected=told)) if ahead else told


def what_to_look_at(event: GuardTripped) -> list[Term]:
    """What may be behind a stop, and what to look at, in order; one line each."""
    if not event.likely:
        return [ScreenTerm.SUSPECTED(what=event.suspect), ScreenTerm.CHECK(what=event.check)]
    return [
        ScreenTerm.LOOK_AT(
            number=number, sure_pct=100.0 * one.probability, cause=one.cause, check=one.check
        )
        for number, one in enumerate(event.likely, start=1)
    ]
