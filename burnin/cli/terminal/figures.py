"""Values and names as the terminal shows them."""

from __future__ import annotations

from burnin.core.reading import NotMeasured, Reading
from burnin.core.sample import Sample

VERDICT_WORDS = {
    "pass": "PASS",
    "fail": "FAIL",
    "aborted": "STOPPED",
    "conditional": "CONDITIONAL",
    "not measured": "NOT MEASURED",
}


def number(value: float) -> str:
    """A number with the digits that a person reads."""
    if value == int(value) and abs(value) < 1e15:
        return f"{int(value):,}".replace(",", " ")
    return f"{value:.3g}" if abs(value) < 100 else f"{value:.0f}"


def value_text(reading: Reading) -> str:
    """Value with its unit and uncertainty."""
    if reading.value is None:
        return "–"
    if isinstance(reading.value, str):
        return reading.value
    text = number(reading.value)
    if reading.uncertainty:
        text += f" ± {reading.uncertainty:.2g}"
    return f"{text} {reading.unit}".rstrip()


def limit_text(reading: Reading) -> str:
    """The limit as the terminal shows it."""
    if reading.limit is not None:
        return str(reading.limit)
    if reading.allowed:
        return " or ".join(reading.allowed)
    return ""


def verdict_text(reading: Reading) -> str:
    """The verdict in words, or that nothing judges this value."""
    return reading.verdict.value if reading.verdict is not None else "recorded"


def live_text(sample: Sample) -> str:
    """Temperature, power, link and clock of one sample, on one line."""
    told = sample.telemetry
    parts = []
    for label, value, unit in (
        ("GPU", told.gpu_temp_c, "°C"),
        ("hot spot", told.hotspot_temp_c, "°C"),
        ("", told.power_w, "W"),
        ("", told.core_clock_mhz, "MHz"),
        ("fan", told.fan_rpm, "rpm"),
    ):
        if not isinstance(value, NotMeasured):
            parts.append(f"{label} {value:.0f} {unit}".strip())
    width, speed = told.link_width_lanes, told.link_speed_gts
    if not isinstance(width, NotMeasured) and not isinstance(speed, NotMeasured):
        parts.append(f"x{width:.0f} at {speed:g} GT/s")
    return "  ".join(parts) if parts else "no sensor answers"

