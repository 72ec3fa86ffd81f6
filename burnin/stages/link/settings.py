"""What a profile says of the link: width, generation, traffic and the errors it may show."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from burnin.profile.parts import Seconds, Share
from burnin.profile.stage_settings import StageSettings


class LinkCheck(StageSettings):
    """The link trains at the lesser of card, slot and profile, and stays there under traffic."""

    stage: Literal["link"]
    width_lanes: Literal[1, 2, 4, 8, 12, 16, "own"] = Field(
        description="lanes to expect; own: as many as the card itself says that it has"
    )
    generation: Literal[1, 2, 3, 4, 5, 6, "own"] = Field(
        description="generation to expect; own: the highest that the card itself says"
    )
    idle_s: Seconds = 2.0
    load_s: Seconds = 20.0
    new_errors_at_most: int | None = Field(
        default=None,
        ge=0,
        le=1_000_000_000,
        description="more errors than this are unsure, also where 1e-12 a bit would give as many; "
        "left out: the traffic's own bits decide. It permits no more than they do",
    )
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
