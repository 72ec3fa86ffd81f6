"""What a profile says of the work of all parts at once, and of the power steps after it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from pydantic import Field

from burnin.profile.guards import Guards
from burnin.profile.parts import Part, Seconds, Share
from burnin.profile.stage_settings import StageSettings
from burnin.stages.memory.settings import LEAST_SHARE, PatternName


class StepsOfPower(Part):
    """All parts work and rest in turn, `rate_hz` times a second, for `hold_s`."""

    rate_hz: float = Field(ge=0.05, le=20.0)
    hold_s: Seconds


class TogetherSettings(StageSettings):
    """Arithmetic, memory patterns and traffic both ways at once; then in steps of power."""

    stage: Literal["all_at_once"]
    load_s: Seconds = 60.0
    alone_s: Seconds = Field(
        default=2.0, description="each part works alone for so long before, to compare its rate"
    )
    share_of_free: Share = 0.9
    patterns: tuple[PatternName, ...] = Field(
        default=("pseudo_random", "own_address", "moving_inversions", "checkerboard"), min_length=1
    )
    power_at_least_share: Share | None = Field(
        default=None, description="mean power while all work, over the card's own limit"
    )
    steps: tuple[StepsOfPower, ...] = Field(
        default=(
            StepsOfPower(rate_hz=0.1, hold_s=20.0), StepsOfPower(rate_hz=1.0, hold_s=10.0),
            StepsOfPower(rate_hz=5.0, hold_s=5.0), StepsOfPower(rate_hz=20.0, hold_s=5.0),
        ),
        description="steps of power, carried out only where a ramp of the same run has passed",
    )  # fmt: skip
    seed: int = Field(default=1, ge=0, lt=2**32)

    def faults(self, guards: Guards) -> Iterator[str]:  # noqa: ARG002
        """Most of the memory takes part; each leg of steps has a rate and at least a whole step."""
        if self.share_of_free < LEAST_SHARE:
            yield (
                f"share_of_free = {self.share_of_free:g} is too little: at least {LEAST_SHARE:g} of"
                " the memory takes part"
            )
        rates = [step.rate_hz for step in self.steps]
        for step in self.steps:
            if rates.count(step.rate_hz) > 1:
                yield f"steps: {step.rate_hz:g} Hz stands there twice; give each rate once"
                return
            if step.hold_s * step.rate_hz < 1.0:
                yield (
                    f"steps: hold_s = {step.hold_s:g} holds no whole step of"
                    f" {step.rate_hz:g} Hz; at least {1.0 / step.rate_hz:g}"
                )
