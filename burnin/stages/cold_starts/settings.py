"""What a profile says of cold starts: how many, and what counts as one."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from burnin.profile.stage_settings import StageSettings


class ColdStarts(StageSettings):
    """The link is judged at each of several cold starts."""

    stage: Literal["cold_starts"]
    starts: int = Field(default=3, ge=1, le=50)
    reseats: int = Field(
        default=0, ge=0, le=50, description="starts before which the card is seated anew"
    )
    width_lanes: Literal[1, 2, 4, 8, 12, 16, "own"] = Field(
        description="lanes to expect; own: as many as the card itself says that it has"
    )
    generation: Literal[1, 2, 3, 4, 5, 6, "own"] = Field(
        description="generation to expect; own: the highest that the card itself says"
    )
    load_s: float = Field(default=5.0, gt=0.0, le=3600.0)
    off_at_least_s: float = Field(
        default=30.0, ge=0.0, le=3600.0, description="shortest time without power of a cold start"
    )
