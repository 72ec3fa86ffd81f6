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
    fan2_rpm: float | NotMeasured = _NOT_READ
    fan2_pct: float | NotMeasured = _NOT_READ
    fan3_rpm: float | NotMeasured = _NOT_READ
    fan3_pct: float | NotMeasured = _NOT_READ
    fan4_rpm: float | NotMeasured = _NOT_READ
    fan4_pct: float | NotMeasured = _NOT_READ


FAN_NAMES: tuple[tuple[str, str], ...] = (
    ("fan_rpm", "fan_pct"),
    ("fan2_rpm", "fan2_pct"),
    ("fan3_rpm", "fan3_pct"),
    ("fan4_rpm", "fan4_pct"),
)
"""Speed and setting of each fan in `Telemetry`, the first one first; no card is known with more."""

TELEMETRY_NAMES: tuple[str, ...] = tuple(f.name for f in fields(Telemetry))
"""Column names of the telemetry, in their order in samples.csv; each carries its unit."""


class SampleFlaw(StrEnum):
    """What is wrong with a row of telemetry; why a single value is missing stands with the value.

    Late: more than half a period after it was due. Missing: a value that was read before is not.
    Repeated: power, energy and every temperature are those of the row before. Impossible: a value
    cannot be one of its kind. Unsettled: a value leapt further than it can, and is not yet borne
    out.
    """

    LATE = "late"
    MISSING = "missing"
    REPEATED = "repeated"
    IMPOSSIBLE = "impossible"
    UNSETTLED = "unsettled"
    UNKNOWN = "a flaw not known here"

    @classmethod
    def _missing_(cls, value: object) -> SampleFlaw | None:  # noqa: ARG003 - newer tools know more
        return cls.UNKNOWN


@dataclass(frozen=True)
class Sample:
    """Telemetry at `elapsed_s` (monotonic, since the run's start) and `time_utc` (ISO-8601).

    `read_s` is how long reading took; `load_share` is the asked share of full work (0 to 1);
    `load_w` the asked power where power is held; `present` is False once the card is gone.
    `period_s` is the time since the sample before, None for the first; `late_s` is by how much the
    sample came after it was due, None where it was due at no time.
    """

    elapsed_s: float
    time_utc: str
    stage: str
    telemetry: Telemetry
    load_share: float = 0.0
    load_w: float | None = None
    read_s: float = 0.0
    present: bool = True
    period_s: float | None = None
    late_s: float | None = None
    flaws: tuple[SampleFlaw, ...] = ()

    @property
    def loaded(self) -> bool:
        """Whether work was asked of the card."""
        return self.load_share > 0.0 or bool(self.load_w)


@dataclass(frozen=True)
class Resolution:
    """Steps in which a card's sensors answer; they give the uncertainty of what is read."""

    temp_c: float = 1.0
    power_w: float = 1.0
    refresh_s: float = 0.1
    sources: dict[str, Source] = field(default_factory=dict)
