"""A reading: one measured value with unit, uncertainty and limit, and the verdict that follows.

The decision rule is guarded acceptance and guarded rejection with a guard band as wide as the
expanded uncertainty U (coverage factor 2): a value passes only if the whole interval value ± U
lies inside the limits, fails only if the whole interval lies outside, and is unsure in between
(JCGM 106:2012, 8.3.2 and 8.3.3). Nothing is a pass before a comparison has made it one.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TypeVar


class Verdict(StrEnum):
    """What a comparison says of one reading."""

    PASS = "pass"
    FAIL = "fail"
    UNSURE = "unsure"
    NOT_MEASURED = "not measured"


@dataclass(frozen=True)
class NotMeasured:
    """A value that could not be had, and why; takes the value's place in every type."""

    reason: str

    def __bool__(self) -> bool:
        return False


T = TypeVar("T")


def known(value: T | NotMeasured) -> T | None:
    """The value where it was measured, None where it was not."""
    return None if isinstance(value, NotMeasured) else value


@dataclass(frozen=True)
class Limit:
    """The permitted interval, bounds included; None leaves a side open."""

    lower: float | None = None
    upper: float | None = None

    def __post_init__(self) -> None:
        if self.lower is not None and self.upper is not None and self.lower > self.upper:
            raise ValueError(f"limit turned round: lower {self.lower} is above upper {self.upper}")

    def __str__(self) -> str:
        if self.lower is not None and self.lower == self.upper:
            return f"= {self.lower:g}"
        if self.lower is not None and self.upper is not None and self.lower == -self.upper:
            return f"within ± {self.upper:g}"
        parts = []
        if self.lower is not None:
            parts.append(f"≥ {self.lower:g}")
        if self.upper is not None:
            parts.append(f"≤ {self.upper:g}")
        return " and ".join(parts)


@dataclass(frozen=True)
class Reading:
    """One value of one stage.

    `uncertainty` is the expanded uncertainty U (coverage factor 2) in the reading's unit, 0 for a
    count. `verdict` is None for a value that is recorded and judged by nothing. `required` says
    whether the run stays conditional when this reading is not measured.
    """

    name: str
    value: float | str | None
    unit: str
    uncertainty: float = 0.0
    limit: Limit | None = None
    allowed: tuple[str, ...] = ()
    verdict: Verdict | None = None
    reason: str = ""
    source: str = ""
    required: bool = True
    stage: str = ""


def integer_code_uncertainty(step: float) -> float:
    """Expanded uncertainty (k = 2) of a value rounded to multiples of `step`.

    A rectangular distribution of width `step` has the standard deviation step/√12
    (JCGM 100:2008, 4.3.7).
    """
    return 2.0 * step / math.sqrt(12.0)


def decide(value: float, uncertainty: float, limit: Limit) -> Verdict:
    """Verdict of value ± uncertainty against the limit; NaN is not measured."""
    if math.isnan(value) or math.isnan(uncertainty):
        return Verdict.NOT_MEASURED
    low, high = value - uncertainty, value + uncertainty
    below_upper = limit.upper is None or high <= limit.upper
    above_lower = limit.lower is None or low >= limit.lower
    if below_upper and above_lower:
        return Verdict.PASS
    over = limit.upper is not None and low > limit.upper
    under = limit.lower is not None and high < limit.lower
    return Verdict.FAIL if over or under else Verdict.UNSURE


def judge(
    name: str,
    value: float | NotMeasured,
    unit: str,
    limit: Limit | None,
    *,
    uncertainty: float = 0.0,
    source: str = "",
    required: bool = True,
    why_fail: str = "",
) -> Reading:
    """A reading of a number; `limit` None records it without judging it."""
    if isinstance(value, NotMeasured):
        return not_measured(name, unit, value.reason, limit=limit, source=source, required=required)
    if limit is None:
        return Reading(name, value, unit, uncertainty, source=source, required=required)
    verdict = decide(value, uncertainty, limit)
    reason = ""
    if verdict is Verdict.FAIL:
        reason = why_fail or f"{value:g} {unit}".strip() + f", must be {limit}"
    elif verdict is Verdict.UNSURE:
        reason = f"the limit lies inside {_as_known(value, uncertainty)} {unit}".strip()
    elif verdict is Verdict.NOT_MEASURED:
        reason = "the value read is not a number"
    return Reading(
        name, value, unit, uncertainty, limit, (), verdict, reason, source, required
    )


def _as_known(value: float, uncertainty: float) -> str:
    """Value ± U to two digits of U (JCGM 100:2008, 7.2.6).

    >>> _as_known(-2.64669, 0.5811), _as_known(381.26, 12.4)
    ('-2.65 ± 0.58', '381 ± 12')
    """
    if not uncertainty > 0.0:
        return f"{value:g} ± {uncertainty:g}"
    digits = max(0, 1 - math.floor(math.log10(uncertainty)))
    return f"{value:.{digits}f} ± {uncertainty:.{digits}f}"


def judge_text(
    name: str,
    value: str | NotMeasured,
    allowed: Iterable[str] | None,
    *,
    source: str = "",
    required: bool = True,
    why_fail: str = "",
) -> Reading:
    """A reading of a word; `allowed` None records it without judging it."""
    if isinstance(value, NotMeasured):
        return not_measured(name, "", value.reason, source=source, required=required)
    if allowed is None:
        return Reading(name, value, "", source=source, required=required)
    permitted = tuple(allowed)
    good = value in permitted
    reason = "" if good else why_fail or f"{value}, must be {' or '.join(permitted)}"
    verdict = Verdict.PASS if good else Verdict.FAIL
    return Reading(
        name, value, "", 0.0, None, permitted, verdict, reason, source, required
    )


def not_measured(
    name: str,
    unit: str,
    reason: str,
    *,
    limit: Limit | None = None,
    source: str = "",
    required: bool = True,
) -> Reading:
    """A reading that could not be taken; the reason must say why."""
    if not reason:
        raise ValueError(f"{name}: a reading that was not measured needs its reason")
    return Reading(
        name, None, unit, 0.0, limit, (), Verdict.NOT_MEASURED, reason, source, required
    )


_UNIT_ENDINGS = (
    *("_k_per_w", "_k_per_s", "_j_per_k", "_lanes", "_gts", "_gbs", "_gib", "_pct"),
    *("_c", "_k", "_w", "_j"),
)
_WORDS = {"gpu": "GPU", "hotspot": "hot spot", "edid": "EDID", "max": "peak", "temp": "temperature"}


def title_of_reading(name: str) -> str:
    """``link_width_lanes`` as ``link width``; what follows a blank is kept.

    >>> title_of_reading("gpu_temp_max_c"), title_of_reading("edid DP-1")
    ('GPU temperature peak', 'EDID DP-1')
    """
    head, _, rest = name.partition(" ")
    ending = next((e for e in _UNIT_ENDINGS if head.endswith(e)), "")
    words = [_WORDS.get(word, word) for word in head.removesuffix(ending).split("_")]
    return f"{' '.join(words)} {rest.replace('_', ' ')}".strip()


def of_stage(reading: Reading, stage: str) -> Reading:
    """The same reading, filed under a stage."""
    return replace(reading, stage=stage)
