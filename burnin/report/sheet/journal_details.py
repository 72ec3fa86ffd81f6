"""Numbers and texts out of the details of a journal's line."""

from __future__ import annotations

import math
from collections.abc import Mapping


def number_at(detail: Mapping[str, object], name: str) -> float | None:
    """The finite number under a name, None for anything else."""
    value = detail.get(name)
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return float(value) if math.isfinite(value) else None


def text_at(detail: Mapping[str, object], name: str) -> str:
    """The text under a name, empty where there is none."""
    value = detail.get(name)
    return value if isinstance(value, str) else ""
