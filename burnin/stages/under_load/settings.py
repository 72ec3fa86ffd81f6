"""What a profile says of measuring under load: the power, and how good meter and probe are."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from pydantic import Field, model_validator

from burnin.profile.guards import Guards
from burnin.profile.parts import Seconds, Share
from burnin.profile.stage_settings import StageSettings

_MOST_BELOW_SHARE = 0.2
"""A fifth less current loses a fifth less voltage and a third less heat: no more is the same power
(estimate)."""


class UnderLoad(StageSettings):
    """A power is held, and the points of [[under_load]] are measured one by one."""

    stage: Literal["under_load"]
    power_w: float | None = Field(
        default=None, gt=0.0, le=2000.0, description="board power to hold; needs a power sensor"
    )
    own_power_share: Share | None = Field(
        default=None, gt=0.0, description="share of the card's own power limit to hold"
    )
    share_without_sensor: Share = Field(
        default=0.5,
        description="share of full work where power cannot be told: then nothing passes",
    )
    power_rise_w_per_s: float = Field(
        default=150.0, gt=0.0, le=2000.0, description="fastest rise of the held power"
    )
    power_within_share: float = Field(
        default=0.05,
        ge=0.0,
        le=_MOST_BELOW_SHARE,
        description="how far the mean of the power may lie below what was asked",
    )
    settle_s: Seconds = Field(default=60.0, description="time at that power before the first point")
    prompt_timeout_s: Seconds = Field(default=60.0, description="longest wait for each point")
    meter_pct: float = Field(
        default=1.0, ge=0.0, le=20.0, description="the meter's accuracy, of the reading"
    )
    meter_fixed_v: float = Field(
        default=0.001, gt=0.0, le=1.0, description="and its fixed part, in the range used"
    )
    probe_fixed_c: float = Field(
        default=2.5, gt=0.0, le=50.0, description="accuracy of a probe: type K, class 2"
    )
    camera_fixed_c: float = Field(
        default=5.0,
        gt=0.0,
        le=50.0,
        description="accuracy of a camera, what the surface emits included (common practice)",
    )

    @model_validator(mode="after")
    def _one_power(self) -> UnderLoad:
        if (self.power_w is None) == (self.own_power_share is None):
            raise ValueError("under_load needs power_w or own_power_share, and not both")
        return self

    def faults(self, guards: Guards) -> Iterator[str]:
        """A power that a guard would end."""
        most_w = guards.power_limit_w
        if self.power_w is not None and most_w is not None and self.power_w > most_w:
            yield (
                f"power_w = {self.power_w:g} lies above guards.power_limit_w = {most_w:g}: the"
                " guard would end the load before that power is reached"
            )
