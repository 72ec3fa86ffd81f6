"""The widest link that trains when lanes are dead.

Rules (PCI Express Base Specification, 4.2, second hand from MindShare, PCI Express Technology,
ch. 14): a lane without a receiver takes no part; lanes number from 0 without a gap; widths are 1,
2, 4, 8, 16. A port may number from the far end instead (lane reversal, optional on both ends and
often not together with a narrowed link), so a reversed width is possible, never owed.
"""

from __future__ import annotations

from collections.abc import Collection

PERMITTED_WIDTHS = (16, 8, 4, 2, 1)
"""Lanes of a link, widest first; x12 and x32 are not built for the slot of a graphics card."""


def widest_link(dead: Collection[int], width_lanes: int = 16, *, reversed_: bool = False) -> int:
    """Lanes of the widest link with those lanes dead, 0 where none trains.

    Unreversed it is the largest permitted width up to the lowest dead lane; `reversed_` counts
    from lane ``width_lanes - 1`` down to the highest dead one.
    """
    inside = [lane for lane in dead if 0 <= lane < width_lanes]
    if reversed_:
        free = width_lanes - 1 - max(inside, default=-1)
    else:
        free = min(inside, default=width_lanes)
    return next((width for width in PERMITTED_WIDTHS if width <= min(free, width_lanes)), 0)
