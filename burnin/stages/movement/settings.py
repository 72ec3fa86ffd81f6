"""What a profile says of movements: what is moved, and how long somebody is waited for."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from pydantic import Field

from burnin.profile.guards import Guards
from burnin.profile.parts import Seconds
from burnin.profile.stage_settings import StageSettings

What = Literal["free_end", "edge", "power_plugs", "screen_cables"]


class Movement(StageSettings):
    """The card is moved gently, place by place, while its link works and all is watched."""

    stage: Literal["movement"]
    places: tuple[What, ...] = Field(
        default=("free_end", "edge", "power_plugs", "screen_cables"),
        min_length=1,
        description="what is moved, in order: each power plug and each cable of a screen by itself",
    )
    power_plugs: int = Field(default=1, ge=0, le=4, description="power plugs that the card has")
    still_s: Seconds = Field(default=5.0, description="time before it, in which nobody touches it")
    prompt_timeout_s: Seconds = Field(default=60.0, description="longest wait for each movement")
    settle_s: float = Field(
        default=1.0,
        ge=0.0,
        le=30.0,
        description="what happens so long after a movement is laid to it, too",
    )

    def faults(self, guards: Guards) -> Iterator[str]:  # noqa: ARG002
        """Places that stand twice, or none that anybody could move."""
        twice = sorted({place for place in self.places if self.places.count(place) > 1})
        for place in twice:
            yield f"places: {place!r} stands twice, and would be told once: name each place once"
        if set(self.places) == {"power_plugs"} and self.power_plugs == 0:
            yield "places: only power plugs are to be moved, and power_plugs = 0: nothing is moved"
