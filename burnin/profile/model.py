"""A profile: what a class of card must show. The format of `profiles/*.toml`.

Every field has its unit in its name and its permitted range in the JSON Schema.
"""

from __future__ import annotations

from typing import Annotated, Literal, get_args

from pydantic import Field, model_validator

from burnin.profile.before_power import BeforePower, ColdStarts
from burnin.profile.parts import Celsius, Part, Seconds, Share, StageSettings
from burnin.profile.ramp import ThermalRamp

HexId = Annotated[str, Field(pattern=r"^0x[0-9a-f]{4}$")]
PatternName = Literal[
    "solid",
    "checkerboard",
    "walking_bits",
    "own_address",
    "moving_inversions",
    "pseudo_random",
    "march",
    "hammer",
    "retention",
]


class Guards(Part):
    """When a load is ended. Temperatures in °C, counted before the limit is reached."""

    gpu_temp_limit_c: Celsius = Field(description="the load ends before the GPU reaches this")
    hotspot_temp_limit_c: Celsius | None = None
    memory_temp_limit_c: Celsius | None = None
    temp_margin_c: float = Field(
        default=2.0, ge=0.0, le=30.0, description="kept free below each temperature limit"
    )
    temp_rate_limit_c_per_s: float = Field(
        default=12.0, gt=0.0, le=50.0, description="fastest mean rise over rate_window_s"
    )
    rate_window_s: float = Field(default=4.0, ge=1.0, le=60.0)
    hotspot_delta_limit_k: float | None = Field(
        default=None, gt=0.0, le=80.0, description="most that the hot spot may lie over the GPU"
    )
    power_limit_w: float | None = Field(default=None, gt=0.0, le=2000.0)
    stale_after_s: float = Field(
        default=5.0, gt=0.2, le=60.0, description="age at which an unreadable sensor ends the load"
    )
    sensor_lag_s: float = Field(default=1.0, ge=0.0, le=10.0)
    stop_latency_s: float = Field(
        default=0.1, ge=0.0, le=5.0, description="from a guard's decision to no more work"
    )
    forecast: bool = Field(
        default=False,
        description="identify the cooling under way and end a load whose power, held, would cross "
        "a limit; the simple guards stand behind it in any case",
    )
    cooling: Literal["fans", "water", "stream"] | None = Field(
        default=None,
        description="for the forecast: what takes the heat off the card, its own fans, a water "
        "loop, or a stream of air that the chassis moves",
    )
    stop_on_heat_throttle: bool = Field(
        default=True, description="the card slowing itself down for heat ends the load"
    )


class Enumeration(StageSettings):
    """The card is there, as itself."""

    stage: Literal["enumeration"]
    vendor_ids: tuple[HexId, ...] = ()
    device_ids: tuple[HexId, ...] = ()
    subsystem_ids: tuple[HexId, ...] = ()
    class_codes: tuple[Literal["0x0300", "0x0302", "0x0380", "0x1200"], ...] = (
        "0x0300",
        "0x0302",
        "0x0380",
        "0x1200",
    )
    memory_at_least_gib: float | None = Field(default=None, gt=0.0, le=1024.0)
    firmware_versions: tuple[str, ...] = ()
    cards_expected: int = Field(default=1, ge=1, le=16)
    driver_needed: bool = True


class LinkCheck(StageSettings):
    """The link trains at the lesser of card, slot and profile, and stays there under traffic."""

    stage: Literal["link"]
    width_lanes: Literal[1, 2, 4, 8, 12, 16]
    generation: int = Field(ge=1, le=6)
    idle_s: Seconds = 2.0
    load_s: Seconds = 20.0
    new_errors_at_most: int = Field(default=0, ge=0)
    error_rate_bound: float | None = Field(
        default=None,
        ge=1e-18,
        le=1e-3,
        description="bit error rate per lane to show or refute at 95 %; traffic lasts until then",
    )
    error_rate_within_s: Seconds = Field(
        default=3600.0, description="longest traffic for that; load_s is the shortest"
    )
    share_of_payload_limit_at_least: Share | None = Field(
        default=None, description="achieved copy rate over what the link can carry"
    )


class Display(StageSettings):
    """Every output detects a screen and reads its EDID."""

    stage: Literal["display"]
    outputs: int = Field(ge=0, le=16, description="display connectors that the card has; 0: none")
    monitors: Literal["ask", "all"] = Field(
        default="ask", description="all: a monitor is on every output; ask: prompt for each"
    )
    prompt_timeout_s: Seconds = 60.0
    watch_s: float = Field(
        default=5.0,
        ge=0.0,
        le=600.0,
        description="time over which detected screens must stay detected",
    )


class Memory(StageSettings):
    """Patterns are written and read back."""

    stage: Literal["memory"]
    share_of_free: Share = 0.97
    share_of_all_at_least: Share = Field(
        default=0.85, description="tested share of the card's whole memory that must be reached"
    )
    patterns: tuple[PatternName, ...] = Field(
        default=get_args(PatternName),
        min_length=1,
    )
    passes: int = Field(default=1, ge=1, le=1000)
    seed: int = Field(default=1, ge=0, lt=2**32)
    duty: float = Field(default=1.0, gt=0.0, le=1.0)


class Compute(StageSettings):
    """A result repeats to the bit while the card is loaded."""

    stage: Literal["compute"]
    load_s: Seconds = 30.0
    seed: int = Field(default=1, ge=0, lt=2**32)
    duty: float = Field(default=1.0, gt=0.0, le=1.0)


Stage = Annotated[
    Enumeration | LinkCheck | Display | Memory | Compute | ThermalRamp | ColdStarts,
    Field(discriminator="stage"),
]


class Owed(Part):
    """What this profile cannot prove by itself, and why; the run stays conditional."""

    what: str = Field(min_length=3, max_length=120)
    reason: str = Field(min_length=3, max_length=200)


class Pace(Part):
    """How often the card is read."""

    sample_interval_s: float = Field(default=0.1, ge=0.02, le=5.0)


class Profile(Part):
    """What a class of card must show: stages in order, their limits, their guards."""

    format: Literal[1]
    title: str = Field(min_length=3, max_length=80)
    description: str = Field(default="", max_length=600)
    pace: Pace = Pace()
    guards: Guards
    before_power: tuple[BeforePower, ...] = Field(
        default=(), description="what is measured on the unpowered card"
    )
    stages: tuple[Stage, ...] = Field(min_length=1)
    owed: tuple[Owed, ...] = ()

    @model_validator(mode="after")
    def _forecast_is_there(self) -> Profile:
        for index, stage in enumerate(self.stages):
            if not isinstance(stage, ThermalRamp):
                continue
            name = stage.needs_forecast()
            if name and not self.guards.forecast:
                raise ValueError(
                    f"stages[{index}].{name} needs forecast = true in [guards]: it stands on the "
                    "cooling that the forecast guard identifies"
                )
            plan, most_w = stage.own_plan, self.guards.power_limit_w
            if plan is not None and most_w is not None and plan.top_w > most_w:
                raise ValueError(
                    f"stages[{index}].own_plan.top_w = {plan.top_w:g} lies above"
                    f" guards.power_limit_w = {most_w:g}: the guard would end the load before"
                    " that power is reached"
                )
        return self

    @model_validator(mode="after")
    def _ramp_stays_below_guards(self) -> Profile:
        for index, stage in enumerate(self.stages):
            if not isinstance(stage, ThermalRamp) or stage.gpu_temp_at_most_c is None:
                continue
            if stage.gpu_temp_at_most_c > self.guards.gpu_temp_limit_c:
                raise ValueError(
                    f"stages[{index}].gpu_temp_at_most_c = {stage.gpu_temp_at_most_c:g} lies above"
                    f" guards.gpu_temp_limit_c = {self.guards.gpu_temp_limit_c:g}: the guard would"
                    " end the load before the reading could be judged"
                )
        return self


def stage_name(position: int, stage: Stage) -> str:
    """Name of a stage in a record, e.g. ``4-memory``; positions count from 1."""
    return f"{position}-{stage.stage}"
