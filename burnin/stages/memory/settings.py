"""What a profile says of the memory test: how much of it, which patterns, how often."""

from __future__ import annotations

from typing import Literal, get_args

from pydantic import Field

from burnin.profile.parts import Share
from burnin.profile.stage_settings import StageSettings

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
