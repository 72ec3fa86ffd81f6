"""Readings of counts of chance events and of shares of tries, judged by exact intervals.

Counts: Poisson; shares: Clopper-Pearson (`exact_intervals.py`). A number that is itself the claim,
such as a word that read back wrong, is no such count: `burnin.core.reading.judge` compares it.
"""

from __future__ import annotations

import math

from burnin.core.decision import RuleTerm
from burnin.core.exact_intervals import (
    CONFIDENCE,
    poisson_lower,
    poisson_upper,
    ratio_lower,
    ratio_upper,
)
from burnin.core.meaning import Reason, Source, Term
from burnin.core.reading import (
    Limit,
    LimitTerm,
    NotMeasured,
    Reading,
    ReadingReason,
    Verdict,
    not_measured,
)

_MOST_COUNTED = 2**53
"""Largest count that a number holds exactly."""


def judge_count(
    name: str,
    count: int | NotMeasured,
    allowed_mean: float,
    *,
    confidence: float = CONFIDENCE,
    source: Source | None = None,
    required: bool = True,
    why_fail: Reason | None = None,
) -> Reading:
    """A reading of a count of chance events, of which at most `allowed_mean` are to be expected.

    Fails where the exact lower bound of the mean (Poisson) lies above that, else it passes: the
    count gives no sign of more. It proves no less either; that takes an upper bound.
    """
    limit = Limit(upper=allowed_mean)
    if isinstance(count, NotMeasured):
        return not_measured(name, "", count.reason, limit=limit, source=source, required=required)
    if not (math.isfinite(allowed_mean) and 0 <= count <= _MOST_COUNTED):
        wrong = ReadingReason.IMPOSSIBLE(value=float(count), unit="")
        return not_measured(name, "", wrong, limit=limit, source=source, required=required)
    lower, upper = poisson_lower(count, confidence), poisson_upper(count, confidence)
    told = RuleTerm.POISSON(sure_pct=round(100.0 * confidence, 6), lower=lower, upper=upper)
    verdict, reason = Verdict.PASS, None
    if lower > allowed_mean:
        verdict = Verdict.FAIL
        reason = why_fail or ReadingReason.MORE_THAN_CHANCE(
            count=count, lower_count=lower, allowed_count=allowed_mean
        )
    return Reading(
        name, float(count), "", 0.0, limit, (), verdict, reason, source, required, rule=told
    )


def count_limit(reading: Reading) -> Term | None:
    """The limit of a count as a count: the most events that pass; None for any other reading.

    Of chance events the limit on record is the mean that is to be expected, which is no whole
    number; what passes is each count that gives no sign of more.
    """
    limit = reading.limit
    if limit is None or limit.upper is None or reading.unit or not math.isfinite(limit.upper):
        return None
    if reading.rule is not None and reading.rule.means(RuleTerm.POISSON):
        sure = reading.rule["sure_pct"]
        confidence = sure / 100.0 if isinstance(sure, int | float) else CONFIDENCE
        return LimitTerm.COUNT_AT_MOST(most_count=_most_no_sign(limit.upper, confidence))
    counted = reading.rule is None or reading.rule.means(RuleTerm.COUNTED, RuleTerm.BY_STAGE)
    if counted and limit.lower == 0.0 and limit.upper > 1.0 and limit.upper == int(limit.upper):
        return LimitTerm.COUNT_AT_MOST(most_count=int(limit.upper))
    return None


def _most_no_sign(allowed_mean: float, confidence: float) -> int:
    """The largest count whose exact lower bound does not lie above the mean that is allowed."""
    over = max(1, math.ceil(allowed_mean))
    while poisson_lower(over, confidence) <= allowed_mean:
        over *= 2
    passes = 0
    while over - passes > 1:
        middle = (over + passes) // 2
        if poisson_lower(middle, confidence) <= allowed_mean:
            passes = middle
        else:
            over = middle
    return passes


def judge_ratio(
    name: str,
    hits: int,
    tries: int,
    least_share: float | None,
    *,
    confidence: float = CONFIDENCE,
    source: Source | None = None,
    required: bool = True,
) -> Reading:
    """A reading of a share of independent tries, with its exact bounds (Clopper-Pearson).

    Passes where the lower bound reaches `least_share`, fails where the upper one stays below it,
    and is unsure in between; `least_share` None records it without judging it.
    """
    limit = None if least_share is None else Limit(lower=least_share)
    if tries < 1 or not 0 <= hits <= tries:
        wrong = ReadingReason.IMPOSSIBLE(value=float(hits), unit="")
        return not_measured(name, "", wrong, limit=limit, source=source, required=required)
    lower, upper = ratio_lower(hits, tries, confidence), ratio_upper(hits, tries, confidence)
    told = RuleTerm.RATIO(sure_pct=round(100.0 * confidence, 6), lower=lower, upper=upper)
    share, verdict, reason = hits / tries, None, None
    if limit is not None and least_share is not None:
        verdict = Verdict.PASS
        if upper < least_share:
            verdict = Verdict.FAIL
            reason = ReadingReason.OUTSIDE_LIMIT(value=share, unit="", limit=limit.term())
        elif lower < least_share:
            verdict = Verdict.UNSURE
            reason = ReadingReason.SHARE_OPEN(hits=hits, tries=tries, lower=lower, upper=upper)
    return Reading(
        name, share, "", 0.0, limit, (), verdict, reason, source, required, rule=told
    )
