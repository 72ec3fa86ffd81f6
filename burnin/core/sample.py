"""A sample: one row of telemetry, with the moment it was taken and the load that was asked for."""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from enum import StrEnum

from burnin.core.meaning import Source
from burnin.core.reading import NotMeasured, ReadingReason

_NOT_READ = NotMeasured(ReadingReason.NOT_READ())


class Slowdown(StrEnum):
    """Why a card runs slower than it could, as far as its driver tells (`throttle_reasons`)."""

    HEAT = "slowed for heat"
    POWER_LIMIT = "power limit"
    SUSTAINED_POWER = "sustained power limit"
    BURST_POWER = "burst power limit"
    PEAK_CURRENT = "peak current limit"
    HOT_SIGNAL = "hot signal from outside the chip"
    AVERAGE_TEMPERATURE = "average temperature limit"
    REGULATOR_HOT = "voltage regulator hot"
    REGULATOR_CURRENT = "voltage regulator current limit"
    CLOCKS_SET = "clocks set by a program or a person"
    HARDWARE = "slowed by hardware"
    IN_STEP = "kept in step with other cards"
    POWER_BRAKE = "power brake from outside"
    DISPLAY_CLOCKS = "clocks set for the display"
    UNKNOWN = "a reason not known here"

    @classmethod
    def _missing_(cls, value: object) -> Slowdown | None:  # noqa: ARG003 - newer drivers know more
        return cls.UNKNOWN


@dataclass(frozen=True)
class Telemetry:
    """What a card tells of itself at one moment; each value or the reason why there is none."""

    gpu_temp_c: float | NotMeasured = _NOT_READ
    hotspot_temp_c: float | NotMeasured = _NOT_READ
    memory_temp_c: float | NotMeasured = _NOT_READ
    power_w: float | NotMeasured = _NOT_READ
    energy_j: float | NotMeasured = _NOT_READ
    core_clock_mhz: float | NotMeasured = _NOT_READ
    memory_clock_mhz: float | NotMeasured = _NOT_READ
    busy_pct: float | NotMeasured = _NOT_READ
    fan_rpm: float | NotMeasured = _NOT_READ
    fan_pct: float | NotMeasured = _NOT_READ
    link_speed_gts: float | NotMeasured = _NOT_READ
    link_width_lanes: float | NotMeasured = _NOT_READ
    throttle_reasons: tuple[Slowdown, ...] | NotMeasured = _NOT_READ


TELEMETRY_NAMES: tuple[str, ...] = tuple(f.name for f in fields(Telemetry))
"""Column names of the telemetry, in their order in samples.csv; each carries its unit."""


@dataclass(frozen=True)
class Sample:
    """Telemetry at `elapsed_s` (monotonic, since the run's start) and `time_utc` (ISO-8601).

    `read_s` is how long reading took; `load_share` is the asked share of full work (0 to 1);
    `load_w` the asked power where power is held; `present` is False once the card is gone.
    """

    elapsed_s: float
    time_utc: str
    stage: str
    telemetry: Telemetry
    load_share: float = 0.0
    load_w: float | None = None
    read_s: float = 0.0
    present: bool = True


@dataclass(frozen=True)
class Resolution:
    """Steps in which a card's sensors answer; they give the uncertainty of what is read."""

    temp_c: float = 1.0
    power_w: float = 1.0
    refresh_s: float = 0.1
    sources: dict[str, Source] = field(default_factory=dict)
