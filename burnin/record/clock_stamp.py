"""What the two clocks of a bench showed together: the wall's, and the one that runs from its start.

The wall's clock may be set; the other is not, but begins anew with each start of the bench. Kept
side by side they tell how far the wall's was set meanwhile.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from itertools import pairwise

from burnin.core.clock import moment_of
from burnin.core.plain import finite

_LONGEST_S = 1e10
"""Three hundred years: no bench has been on for longer."""


@dataclass(frozen=True)
class ClockStamp:
    """A moment by the wall (`utc`, ISO-8601), and `since_start_s` of the start `boot_id`.

    `since_start_s` counts the time that the bench slept too (Linux: CLOCK_BOOTTIME, /proc/uptime).
    """

    utc: str
    boot_id: str
    since_start_s: float

    def as_plain(self) -> dict[str, object]:
        """As a line of a log holds it."""
        return asdict(self)


def stamp_of(told: object) -> ClockStamp | None:
    """A stamp out of a log's line; None where there is none, or it is none that was written."""
    if not isinstance(told, Mapping):
        return None
    utc, boot_id = told.get("utc"), told.get("boot_id")
    since_start_s = finite(told.get("since_start_s"))
    if not isinstance(utc, str) or not isinstance(boot_id, str) or not boot_id:
        return None
    if moment_of(utc) is None or since_start_s is None or not 0.0 <= since_start_s <= _LONGEST_S:
        return None
    return ClockStamp(utc, boot_id, since_start_s)


def set_on_s(stamps: Sequence[ClockStamp]) -> float:
    """By how many seconds the wall's clock was set on from the first stamp to the last.

    Less than 0 where it was set back. Over a new start of the bench only that the wall's clock ran
    for less time than the bench has been on is known to be wrong.
    """
    found = 0.0
    for before, after in pairwise(stamps):
        by_wall = seconds_between(before.utc, after.utc)
        if before.boot_id == after.boot_id:
            found += by_wall - (after.since_start_s - before.since_start_s)
        else:
            found += min(0.0, by_wall - after.since_start_s)
    return found


def seconds_between(first_utc: str, then_utc: str) -> float:
    """Seconds by the wall from one moment to another; 0 where one is no moment."""
    first, then = moment_of(first_utc), moment_of(then_utc)
    return 0.0 if first is None or then is None else (then - first).total_seconds()


def stamped(moment: datetime, boot_id: str, since_start_s: float) -> ClockStamp:
    """A stamp of the moment that the wall shows."""
    return ClockStamp(moment.isoformat(), boot_id, round(since_start_s, 3))
