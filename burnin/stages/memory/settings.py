"""What a profile says of the memory test: how much of it, which patterns, how often."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal, get_args

from pydantic import Field

from burnin.profile.guards import Guards
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


LEAST_SHARE = 0.5
"""Share of the memory below which a test is none of the memory."""


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
    rate_at_least_share_of_own: Share | None = Field(
        default=None,
        description="fastest rate over what the memory's own clock and width carry, where known",
    )
    clock_at_least_share_of_own: Share = Field(
        default=0.85,
        description="memory clock under work over the highest that the card's driver may choose; a"
        " lower one is unsure",
    )
    passes: int = Field(default=1, ge=1, le=1000)
    seed: int = Field(default=1, ge=0, lt=2**32)
    duty: float = Field(default=1.0, gt=0.0, le=1.0)

    def faults(self, guards: Guards) -> Iterator[str]:  # noqa: ARG002
        """A test of less than half of the memory says nothing of the memory."""
        for name in ("share_of_free", "share_of_all_at_least"):
            share: float = getattr(self, name)
            if share < LEAST_SHARE:
                yield (
                    f"{name} = {share:g} is too little: a test of less than {LEAST_SHARE:g} of the"
                    " memory says nothing of the rest"
                )
