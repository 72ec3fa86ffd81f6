"""What a ramp that plans itself may decide, and why."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from burnin.core.meaning import Note, Reason


class Do(StrEnum):
    """What to do until the next decision."""

    HOLD = "hold"
    STEP = "step"
    COOL = "cool"
    STOP = "stop"
    DONE = "done"


@dataclass(frozen=True)
class Next:
    """A decision: hold or step to `watts`, let the card cool, stop, or done, and why.

    `why` is a reason exactly where the ramp stops short of its top; None: nothing new to say.
    """

    do: Do
    watts: float
    why: Note | Reason | None = None
