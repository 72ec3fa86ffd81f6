"""A sample: one row of telemetry, with the moment it was taken and the load that was asked for."""

from __future__ import annotations

from dataclasses import dataclass, field, fields

from burnin.core.reading import NotMeasured

_NOT_READ = NotMeasured("not read")


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
    throttle_reasons: tuple[str, ...] | NotMeasured = _NOT_READ


HEAT_THROTTLE = "slowed for heat"
"""How a card's slowing itself down for heat reads among `Telemetry.throttle_reasons`."""

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
    sources: dict[str, str] = field(default_factory=dict)
