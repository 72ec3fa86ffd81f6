"""How long both ways at once take to show 1e-12 a bit on every lane. Part of `engine_table`."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

from burnin.engine.job import LinkTraffic
from burnin.stages.link.error_rate import Direction

RATE = 1e-12
TRIAL_S, MOST_S = 2.0, 200.0

Say = Callable[[str, str, str, str], None]


def bound(
    say: Say, result_of: Callable[[Any], Any], width: int, replays: Callable[[], int]
) -> None:
    """A trial tells the rate; then as long as the slower way needs, in one job."""
    trial = result_of(LinkTraffic(TRIAL_S, "both"))
    slower_gbs = min(trial.to_card_gbs, trial.to_host_gbs)
    needed_s = Direction(int(1e9), 0, 0, width).bound_per_lane() / RATE / slower_gbs
    if needed_s > MOST_S:
        say("1e-12 a lane both ways", f"{needed_s:.0f} s at {slower_gbs:.1f} GB/s", "160 s", "")
        return
    before, began_s = replays(), time.perf_counter()
    result = result_of(LinkTraffic(1.02 * needed_s, "both"))
    took_s, again = time.perf_counter() - began_s, replays() - before
    ways = (("to the card", result.to_card_bytes), ("to the host", result.to_host_bytes))
    for way, moved in ways:
        shown = Direction(moved, again, again, width)
        say(
            f"1e-12 a lane {way}, both ways at once", f"{shown.bound_per_lane():.2e} after "
            f"{took_s:.1f} s, {moved / 1e12:.2f} TB checked, {result.wrong_words} wrong words, "
            f"{again} replays told", "1e-12 in 160 s", "",
        )  # fmt: skip
