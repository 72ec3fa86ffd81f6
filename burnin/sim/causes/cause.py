"""What every cause shares. A cause says what is wrong, never what anybody will see of it."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

Seconds = Annotated[float, Field(ge=0.0)]
Celsius = Annotated[float, Field(ge=-40.0, le=200.0)]
Positive = Annotated[float, Field(gt=0.0)]
FanNumber = Annotated[int, Field(ge=1, le=4)]
Lane = Annotated[int, Field(ge=0, le=15)]


class Cause(BaseModel):
    """What every cause shares: no key beyond the known ones, no silent conversion."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, allow_inf_nan=False)


class ComesAndGoes(Cause):
    """A cause that is there at times only; with none of the keys it is always there.

    `after_s`: not before so many seconds since power-on, which lies the bench's `powered_for_s`
    (120 s where it says nothing) before a run. `every_s` with `for_s`: from then on, for
    `for_s` out of every `every_s` seconds.
    """

    after_s: Seconds = 0.0
    every_s: Positive | None = None
    for_s: Positive | None = None

    def on_at(self, uptime_s: float) -> bool:
        """Whether it is there at that time since power-on."""
        if uptime_s < self.after_s:
            return False
        if self.every_s is None or self.for_s is None:
            return True
        return (uptime_s - self.after_s) % self.every_s < self.for_s

    def check_times(self) -> None:
        """Raise ValueError where `every_s` and `for_s` do not go together."""
        if (self.every_s is None) != (self.for_s is None):
            raise ValueError("every_s and for_s belong together")
        if self.every_s is not None and self.for_s is not None and self.for_s >= self.every_s:
            raise ValueError("for_s must be below every_s")
