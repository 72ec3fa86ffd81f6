"""An open prompt as a record tells it, and how long it has stood."""

from __future__ import annotations

import time
from dataclasses import dataclass, field
from datetime import UTC, datetime

from burnin.core.clock import moment_of
from burnin.core.meaning import Prompt


@dataclass(frozen=True)
class Standing:
    """A prompt that is open; `since_utc` by the run's own clock.

    `stood_s`: how long it had stood when it was seen here first, at `seen_s`: from then on the
    wall's clock may be set without a second of it gained or lost.
    """

    number: int
    stage: str
    prompt: Prompt
    timeout_s: float
    since_utc: str
    stood_s: float = 0.0
    seen_s: float = field(default_factory=time.monotonic)


def stood_until_now_s(since_utc: str) -> float:
    """Seconds since a moment, by the wall's clock; 0 for no moment."""
    began = moment_of(since_utc)
    return 0.0 if began is None else (datetime.now(UTC) - began).total_seconds()
