"""The power that even a card with the poorest mount may be given at first."""

from __future__ import annotations

from burnin.thermal.inputs import Limits, Row

WORST_MOUNT_K_PER_W = 0.42
"""Die to block of the poorest mount that the first step must survive (estimate)."""
WORST_SPOT_K_PER_W = 0.35
"""Die to block and hot spot together where the paste under it is missing (estimate)."""
FIRST_MARGIN_K = 3.0


def safe_first_w(limits: Limits, row: Row) -> float:
    """Board power, W, that takes no such card at `row` to a limit; below 0: it is too warm."""
    safe_w = (limits.die_c - FIRST_MARGIN_K - row.die_c) / WORST_MOUNT_K_PER_W
    if limits.hotspot_c is None:
        return safe_w
    hot_c = row.die_c if row.hotspot_c is None else row.hotspot_c
    return min(safe_w, (limits.hotspot_c - FIRST_MARGIN_K - hot_c) / WORST_SPOT_K_PER_W)
