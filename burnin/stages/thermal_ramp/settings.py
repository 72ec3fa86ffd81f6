"""What a profile says of its thermal ramp: steps, or a ramp that plans itself."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from pydantic import ConfigDict, Field, model_validator

from burnin.profile.guards import Guards
from burnin.profile.parts import Celsius, Part, Seconds, Share
from burnin.profile.stage_settings import StageSettings
from burnin.stages.thermal_ramp.on_warning import OnWarning


class RampStep(Part):
    """One step of the ramp, held: watts, a share of the card's own limit, or of full work."""

    power_w: float | None = Field(
        default=None, gt=0.0, le=2000.0, description="board power to hold; needs a power sensor"
    )
    own_power_share: Share | None = Field(
        default=None,
        gt=0.0,
        description="share of the card's own power limit to hold, where it tells one",
    )
    load_share: Share | None = Field(
        default=None,
        description="share of full work; with a power: where that cannot be told or held",
    )
    hold_s: Seconds

    @model_validator(mode="after")
    def _something_to_hold(self) -> RampStep:
        if self.power_w is None and self.load_share is None and self.own_power_share is None:
            raise ValueError("a step needs power_w, own_power_share or load_share")
        if self.power_w is not None and self.own_power_share is not None:
            raise ValueError("a step holds power_w or own_power_share, not both")
        return self


def _works(step: RampStep) -> bool:
    return bool(step.power_w or step.own_power_share or step.load_share)


class OwnPlan(Part):
    """A ramp that plans itself: each step follows from what is known of the cooling by then."""

    top_w: float = Field(
        gt=0.0,
        le=2000.0,
        description="board power to reach; where the card gives less, its full work",
    )
    gentle_w: float = Field(
        default=150.0, gt=0.0, le=2000.0, description="first step, less on a card that may be dry"
    )
    budget_j: float | None = Field(
        default=None,
        ge=500.0,
        le=1e6,
        description="energy above idle that the card may take in while it may have no coolant; "
        "left out: the forecast alone decides",
    )
    no_loop: bool = Field(
        default=False,
        description="it is known that no loop is attached: the budget ends the ramp, mount and "
        "die-to-block resistance are judged, no coolant is no fault",
    )
    least_s: float = Field(default=20.0, ge=5.0, le=3600.0, description="shortest step")
    most_s: float = Field(default=60.0, ge=5.0, le=3600.0, description="longest step but the top")
    soak_s: float = Field(default=60.0, ge=5.0, le=86_400.0, description="time at the top power")
    rest_at_most_s: float = Field(
        default=600.0,
        ge=0.0,
        le=7200.0,
        description="longest rest, all in all, before and between steps, for a card that is warm "
        "from earlier work",
    )

    @model_validator(mode="after")
    def _holds_together(self) -> OwnPlan:
        if self.least_s > self.most_s:
            raise ValueError(
                f"own_plan.least_s = {self.least_s:g} lies above most_s = {self.most_s:g}: "
                "a step's shortest time must not exceed its longest"
            )
        if self.gentle_w > self.top_w:
            raise ValueError(
                f"own_plan.gentle_w = {self.gentle_w:g} lies above top_w = {self.top_w:g}: "
                "the first step must not exceed the last"
            )
        if self.no_loop and self.budget_j is None:
            raise ValueError("own_plan.no_loop needs budget_j: all heat stays in the block")
        return self


class ThermalRamp(StageSettings):
    """Load is raised in steps, held, and taken away; temperatures are judged."""

    model_config = ConfigDict(
        json_schema_extra={"oneOf": [{"required": ["steps"]}, {"required": ["own_plan"]}]}
    )

    stage: Literal["thermal_ramp"]
    steps: tuple[RampStep, ...] = Field(
        default=(), description="what is held, in order; or own_plan in its place"
    )
    own_plan: OwnPlan | None = Field(
        default=None, description="the ramp plans itself; needs forecast = true in [guards]"
    )
    on_warning: OnWarning | None = Field(
        default=None,
        description="what the ramp may do while a warning stands; left out: it goes on as planned, "
        "and a plan of its own does not climb; needs forecast = true in [guards]",
    )
    power_rise_w_per_s: float = Field(
        default=150.0, gt=0.0, le=2000.0, description="fastest rise of a held power"
    )
    power_within_share: Share = Field(
        default=0.03, description="how far the mean of a held power may lie from what was asked"
    )
    cool_down_s: float = Field(default=60.0, ge=0.0, le=3600.0)
    gpu_temp_at_most_c: Celsius | None = None
    hotspot_temp_at_most_c: Celsius | None = None
    memory_temp_at_most_c: Celsius | None = None
    rise_at_most_k: float | None = Field(default=None, gt=0.0, le=120.0)
    rate_at_most_k_per_s: float | None = Field(default=None, gt=0.0, le=50.0)
    hotspot_delta_at_most_k: float | None = Field(default=None, gt=0.0, le=80.0)
    thermal_resistance_at_most_k_per_w: float | None = Field(default=None, gt=0.0, le=10.0)
    steady_within_k: float | None = Field(
        default=None, gt=0.0, le=20.0, description="drift over the last minute of the last step"
    )
    power_at_least_w: float | None = Field(
        default=None, gt=0.0, le=2000.0, description="proof that the load was a load"
    )
    own_power_at_least_share: Share = Field(
        default=0.9,
        ge=0.5,
        description="of the card's own power limit, where it tells one: less at the end of full "
        "work is unsure, unless the card says why",
    )
    core_clock_at_least_share_of_own: Share | None = Field(
        default=None,
        description="core clock at the end of the last step, of the highest that the card's driver"
        " may choose",
    )
    heat_budget_j: float | None = Field(
        default=None,
        gt=0.0,
        le=1e7,
        description="energy above idle after which the ramp ends by plan (no loop attached)",
    )
    rated_w: float | None = Field(
        default=None,
        gt=0.0,
        le=2000.0,
        description="power that the rise is told at, extrapolated where it was not reached; "
        "left out: top_w of own_plan",
    )
    rise_at_rated_at_most_k: float | None = Field(
        default=None, gt=0.0, le=120.0,
        description="rise over the coolest reading, at rest under rated_w",
    )
    die_to_block_at_most_k_per_w: float | None = Field(
        default=None, gt=0.0, le=10.0, description="what the mount may resist; needs the forecast"
    )
    block_to_away_at_most_k_per_w: float | None = Field(
        default=None,
        gt=0.0,
        le=10.0,
        description="from block to coolant, to fins or to the room; needs the forecast",
    )

    @model_validator(mode="after")
    def _one_plan(self) -> ThermalRamp:
        if bool(self.steps) == (self.own_plan is not None):
            raise ValueError(
                "thermal_ramp needs either steps or a table [stages.own_plan]"
                + (", not both" if self.steps else "")
            )
        if self.own_plan is not None and self.heat_budget_j is not None:
            raise ValueError(
                "heat_budget_j goes with steps; a ramp that plans itself takes own_plan.budget_j"
            )
        if self.rise_at_rated_at_most_k is not None and not (self.rated_w or self.own_plan):
            raise ValueError("rise_at_rated_at_most_k needs rated_w: the rise at which power?")
        return self

    def faults(self, guards: Guards) -> Iterator[str]:
        """Where the ramp needs the forecast, or would meet a guard before its own limit."""
        if self.steps and not any(map(_works, self.steps)):
            yield "steps give the card no work at all: what stays cool then says nothing"
        name = self.needs_forecast()
        if name and not guards.forecast:
            yield (
                f"{name} needs forecast = true in [guards]: it stands on the cooling that the"
                " forecast guard identifies"
            )
        plan, most_w = self.own_plan, guards.power_limit_w
        if plan is not None and most_w is not None and plan.top_w > most_w:
            yield (
                f"own_plan.top_w = {plan.top_w:g} lies above guards.power_limit_w = {most_w:g}:"
                " the guard would end the load before that power is reached"
            )
        most_c = self.gpu_temp_at_most_c
        if most_c is not None and most_c > guards.gpu_temp_limit_c:
            yield (
                f"gpu_temp_at_most_c = {most_c:g} lies above guards.gpu_temp_limit_c ="
                f" {guards.gpu_temp_limit_c:g}: the guard would end the load before the reading"
                " could be judged"
            )

    def needs_forecast(self) -> str:
        """The first field that only the forecast guard's model can serve, or nothing."""
        fields = (
            "own_plan",
            "on_warning",
            "rated_w",
            "rise_at_rated_at_most_k",
            "die_to_block_at_most_k_per_w",
            "block_to_away_at_most_k_per_w",
        )
        return next((name for name in fields if getattr(self, name) is not None), "")
