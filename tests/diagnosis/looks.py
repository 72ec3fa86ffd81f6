"""Looks at a link that several tests build."""

from __future__ import annotations

from typing import Any

from burnin.diagnosis.evidence import LinkLook


def look(**changes: Any) -> LinkLook:
    """A sound link of sixteen lanes at 16 GT/s, all registers read; changed as asked."""
    sound: dict[str, Any] = {
        "stage": "3-link",
        "warm": False,
        "most_width": 16,
        "most_generation": 4,
        "width": 16,
        "generation": 4,
        "top_generation": 4,
        "errors": (0, 0),
        "lanes": (frozenset(), frozenset()),
        "managed": False,
    }
    return LinkLook(**(sound | changes))


def lane_three(**changes: Any) -> LinkLook:
    """Lane 3 of what the card receives makes errors and the speed is given up."""
    return look(
        **{
            "generation": 3, "errors": (150, 2), "lanes": (frozenset({3}), frozenset()),
            "managed": True,
        }
        | changes
    )  # fmt: skip
