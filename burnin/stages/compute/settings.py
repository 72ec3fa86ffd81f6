"""What a profile says of the repeated computation."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from burnin.profile.parts import Seconds
from burnin.profile.stage_settings import StageSettings


class Compute(StageSettings):
    """A result repeats to the bit while the card is loaded."""

    stage: Literal["compute"]
    load_s: Seconds = 30.0
    seed: int = Field(default=1, ge=0, lt=2**32)
    duty: float = Field(default=1.0, gt=0.0, le=1.0)
