"""What a profile says of the display outputs."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from burnin.profile.parts import Seconds
from burnin.profile.stage_settings import StageSettings


class Display(StageSettings):
    """Every output detects a screen and reads its EDID."""

    stage: Literal["display"]
    outputs: int = Field(ge=0, le=16, description="display connectors that the card has; 0: none")
    monitors: Literal["ask", "all"] = Field(
        default="ask", description="all: a monitor is on every output; ask: prompt for each"
    )
    picture: Literal["ask", "off"] = Field(
        default="ask", description="ask: whether the picture on each detected screen is clean"
    )
    prompt_timeout_s: Seconds = 60.0
    watch_s: float = Field(
        default=5.0,
        ge=0.0,
        le=600.0,
        description="time over which detected screens must stay detected",
    )

    def judges_nothing(self) -> str:
        """A card that shall have no outputs has none to be looked at."""
        return "outputs = 0" if not self.outputs else ""
