"""What a profile allows a ramp to do while a warning stands, and for how long."""

from __future__ import annotations

from pydantic import Field

from burnin.profile.parts import Part, Share


class OnWarning(Part):
    """While a warning stands the ramp does not climb; what else it may do, and its bounds.

    It waits at the power that it holds, then rests without load where the whole step is safe after
    that, else steps down to a power that is safe, else ends by plan.
    """

    wait_at_most_s: float = Field(
        default=60.0,
        ge=0.0,
        le=3600.0,
        description="longest wait at the power that is held, all in all; it ends where the limit "
        "is seconds away",
    )
    rest_at_most_s: float = Field(
        default=120.0,
        ge=0.0,
        le=7200.0,
        description="longest rest without load, all in all; the step is then held anew; 0: none",
    )
    step_down_to_share: Share = Field(
        default=0.5,
        gt=0.0,
        description="least share of its power to which a step may be lowered, for the rest of its "
        "time; the ramp then climbs no further; 1: it is not lowered",
    )
