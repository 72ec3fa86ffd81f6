"""A value as JSON can hold it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from enum import Enum

from burnin.core.meaning import Meaning
from burnin.core.reading import NotMeasured


def finite(value: object) -> float | None:
    """A number out of JSON that can be counted with; None for anything else.

    JSON as Python reads it holds integers without bounds, NaN and infinities.
    """
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    try:
        number = float(value)
    except OverflowError:
        return None
    return number if math.isfinite(number) else None


def plain(value: object) -> object:
    """A value as JSON can hold it.

    A meaning is its code with its data; what was not measured is ``{"not_measured": reason}``.
    """
    if isinstance(value, Meaning):
        return value.as_plain()
    if isinstance(value, NotMeasured):
        return {"not_measured": value.reason.as_plain()}
    if isinstance(value, Enum):
        return value.value
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain(getattr(value, f.name)) for f in fields(value)}
    if isinstance(value, Mapping):
        return {str(k): plain(v) for k, v in value.items()}
    if isinstance(value, bytes):
        return value.hex()
    if isinstance(value, list | tuple):
        return [plain(v) for v in value]
    if isinstance(value, frozenset):
        return sorted((plain(v) for v in value), key=str)
    return value
