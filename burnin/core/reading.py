"""A reading: one measured value with unit, uncertainty and limit, and the verdict that follows.

The decision rule is that of `burnin.core.decision`: guarded acceptance and rejection at a stated
risk (JCGM 106:2012, 8.3.2 and 8.3.3). What is measured and comes without an uncertainty is never a
pass; what is no number, infinite or of impossible size was not measured. Nothing is a pass before a
comparison has made it one.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TypeVar

from burnin.core.decision import (
    MEASURED_UNITS,
    USUAL_RULE,
    DecisionRule,
    Form,
    RuleTerm,
    chance_outside,
    is_possible,
)
from burnin.core.meaning import Reason, ReasonCode, Source, Term, TermCode


class ReadingReason(ReasonCode):
    """Why a reading failed, is unsure, or was not measured, as far as the comparison knows."""

    OUTSIDE_LIMIT = "outside_limit", "value", "unit", "limit"
    NOT_AMONG_ALLOWED = "not_among_allowed", "value", "allowed"
    LIMIT_INSIDE_UNCERTAINTY = "limit_inside_uncertainty", "value", "uncertainty", "unit"
    NO_UNCERTAINTY = "no_uncertainty", "value", "unit"
    NOT_A_NUMBER = "not_a_number"
    NOT_FINITE = "not_finite"
    MORE_THAN_CHANCE = "more_than_chance", "count", "lower_count", "allowed_count"
    SHARE_OPEN = "share_open", "hits", "tries", "lower", "upper"
    IMPOSSIBLE = "impossible_value", "value", "unit"
    NOT_READ = "not_read"


class LimitTerm(TermCode):
    """What a limit permits."""

    EXACTLY = "limit_exactly", "value"
    WITHIN = "limit_within", "value"
    BETWEEN = "limit_between", "lower", "upper"
    AT_LEAST = "limit_at_least", "value"
    COUNT_AT_MOST = "limit_count_at_most", "most_count"
    AT_MOST = "limit_at_most", "value"
    NONE = "limit_none"


class Verdict(StrEnum):
    """What a comparison says of one reading."""

    PASS = "pass"
    FAIL = "fail"
    UNSURE = "unsure"
    NOT_MEASURED = "not measured"


@dataclass(frozen=True)
class NotMeasured:
    """A value that could not be had, and why; takes the value's place in every type."""

    reason: Reason

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

    def term(self) -> Term:
        """The limit as a meaning, for a catalogue to word."""
        lower, upper = self.lower, self.upper
        if lower is not None and upper is not None:
            if lower == upper:
                return LimitTerm.EXACTLY(value=lower)
            if lower == -upper:
                return LimitTerm.WITHIN(value=upper)
            return LimitTerm.BETWEEN(lower=lower, upper=upper)
        if lower is not None:
            return LimitTerm.AT_LEAST(value=lower)
        return LimitTerm.NONE() if upper is None else LimitTerm.AT_MOST(value=upper)


@dataclass(frozen=True)
class Reading:
    """One value of one stage.

    `uncertainty` is the expanded uncertainty U (coverage factor 2) in the reading's unit, 0 for a
    count. `verdict` is None for a value that is recorded and judged by nothing. `required` says
    whether the run stays conditional when this reading is not measured. `rule` is a term of
    `burnin.core.decision.RuleTerm`: what made the verdict; None where an older record does not say.
    """

    name: str
    value: float | str | None
    unit: str
    uncertainty: float = 0.0
    limit: Limit | None = None
    allowed: tuple[str, ...] = ()
    verdict: Verdict | None = None
    reason: Reason | None = None
    source: Source | None = None
    required: bool = True
    stage: str = ""
    rule: Term | None = None


def integer_code_uncertainty(step: float) -> float:
    """Expanded uncertainty (k = 2) of a value rounded to multiples of `step`.

    A rectangular distribution of width `step` has the standard deviation step/√12
    (JCGM 100:2008, 4.3.7).
    """
    return 2.0 * step / math.sqrt(12.0)


def decide(
    value: float,
    uncertainty: float,
    limit: Limit,
    rule: DecisionRule = USUAL_RULE,
    form: Form = Form.NORMAL,
) -> Verdict:
    """Verdict of value ± uncertainty against the limit; what is no finite value is not measured."""
    if math.isnan(uncertainty) or not math.isfinite(value):
        return Verdict.NOT_MEASURED
    outside = chance_outside(value, uncertainty, limit.lower, limit.upper, form)
    return Verdict(rule.decide(outside).value)


def judge(
    name: str,
    value: float | NotMeasured,
    unit: str,
    limit: Limit | None,
    *,
    uncertainty: float = 0.0,
    form: Form = Form.NORMAL,
    rule: DecisionRule = USUAL_RULE,
    source: Source | None = None,
    required: bool = True,
    why_fail: Reason | None = None,
) -> Reading:
    """A reading of a number; `limit` None records it without judging it.

    `uncertainty` 0 says that the value is exact, as a count is; in a unit of what is measured
    (`MEASURED_UNITS`) nothing is, and the value can be no pass.
    """
    if isinstance(value, NotMeasured):
        return not_measured(name, unit, value.reason, limit=limit, source=source, required=required)
    misread = _misread(value, uncertainty, unit)
    if misread is not None:
        return not_measured(name, unit, misread, limit=limit, source=source, required=required)
    if limit is None:
        return Reading(name, value, unit, uncertainty, source=source, required=required)
    verdict = decide(value, uncertainty, limit, rule, form)
    reason = None
    if verdict is Verdict.FAIL:
        reason = why_fail or ReadingReason.OUTSIDE_LIMIT(
            value=value, unit=unit, limit=limit.term()
        )
    elif uncertainty == 0.0 and unit in MEASURED_UNITS:
        verdict, reason = Verdict.UNSURE, ReadingReason.NO_UNCERTAINTY(value=value, unit=unit)
    elif verdict is Verdict.UNSURE:
        reason = ReadingReason.LIMIT_INSIDE_UNCERTAINTY(
            value=value, uncertainty=uncertainty, unit=unit
        )
    told = rule.term(uncertainty, form)
    return Reading(
        name, value, unit, uncertainty, limit, (), verdict, reason, source, required, rule=told
    )


def _misread(value: float, uncertainty: float, unit: str) -> Reason | None:
    """Why a number is none that can have been measured."""
    if math.isnan(value) or math.isnan(uncertainty):
        return ReadingReason.NOT_A_NUMBER()
    if math.isinf(value):
        return ReadingReason.NOT_FINITE()
    if uncertainty < 0.0 or not is_possible(value, unit):
        return ReadingReason.IMPOSSIBLE(value=value, unit=unit)
    return None


def judge_text(
    name: str,
    value: str | NotMeasured,
    allowed: Iterable[str] | None,
    *,
    source: Source | None = None,
    required: bool = True,
    why_fail: Reason | None = None,
) -> Reading:
    """A reading of a word; `allowed` None records it without judging it."""
    if isinstance(value, NotMeasured):
        return not_measured(name, "", value.reason, source=source, required=required)
    if allowed is None:
        return Reading(name, value, "", source=source, required=required)
    permitted = tuple(allowed)
    good = value in permitted
    wrong = why_fail or ReadingReason.NOT_AMONG_ALLOWED(value=value, allowed=permitted)
    reason = None if good else wrong
    verdict = Verdict.PASS if good else Verdict.FAIL
    return Reading(
        name, value, "", 0.0, None, permitted, verdict, reason, source, required,
        rule=RuleTerm.WORD(),
    )  # fmt: skip


def not_measured(
    name: str,
    unit: str,
    reason: Reason,
    *,
    limit: Limit | None = None,
    source: Source | None = None,
    required: bool = True,
) -> Reading:
    """A reading that could not be taken; the reason says why."""
    return Reading(
        name, None, unit, 0.0, limit, (), Verdict.NOT_MEASURED, reason, source, required
    )


def of_stage(reading: Reading, stage: str) -> Reading:
    """The same reading, filed under a stage."""
    return replace(reading, stage=stage)


def reading_subject(name: str) -> tuple[str, str]:
    """A reading's name parted into what is read and of what, the latter empty for most readings.

    >>> reading_subject("edid DP-1"), reading_subject("link_width_lanes")
    (('edid', 'DP-1'), ('link_width_lanes', ''))
    """
    head, _, subject = name.partition(" ")
    return head, subject
