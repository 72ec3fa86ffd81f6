"""One reading judged anew: its value meets its limit once more, by the rule that it names."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from burnin.core.count_readings import judge_count
from burnin.core.decision import RuleTerm, rule_of
from burnin.core.events import TrafficSummed
from burnin.core.meaning import Term
from burnin.core.reading import (
    Limit,
    Reading,
    ReadingReason,
    Verdict,
    judge,
    judge_text,
)
from burnin.replay.link_errors_anew import link_errors_anew
from burnin.stages.thermal_ramp.settled_readings import DRIFT


def reading_anew(
    reading: Reading, traffic: Mapping[str, TrafficSummed] | None = None
) -> Reading:
    """One reading against its limit once more; kept where no comparison made its verdict.

    `traffic`: sums of link traffic by stage, for errors that an older record counted otherwise.
    """
    if reading.value is None:
        return reading
    counted = link_errors_anew(reading, traffic or {})
    if counted is not None:
        return reading if counted.verdict is reading.verdict else counted
    fell = _fell(reading)
    anew = _compared(fell or reading)
    held_back = fell is None and _held_back(reading)
    if anew is None or anew.verdict is reading.verdict or held_back:
        return reading
    return replace(anew, stage=reading.stage)


def _compared(reading: Reading) -> Reading | None:
    if isinstance(reading.value, str):
        if not reading.allowed:
            return None
        return judge_text(
            reading.name,
            reading.value,
            reading.allowed,
            source=reading.source,
            required=reading.required,
        )
    limit: Limit | None = reading.limit
    if limit is None or reading.value is None:
        return None
    told = reading.rule
    if told is not None and told.means(RuleTerm.POISSON):
        return _counted(reading, limit, told)
    rule, form = rule_of(told)
    return judge(
        reading.name,
        reading.value,
        reading.unit,
        limit,
        uncertainty=reading.uncertainty,
        rule=rule,
        form=form,
        source=reading.source,
        required=reading.required,
    )


def _fell(reading: Reading) -> Reading | None:
    """The end of a ramp that fell, without the lower limit of older versions; None: no such one.

    What falls is at rest: the room's air is moved faster (`burnin.stages.thermal_ramp.tail`).
    """
    limit, value = reading.limit, reading.value
    if reading.name != DRIFT or limit is None or limit.upper is None or limit.lower is None:
        return None
    if not isinstance(value, float) or value >= 0.0:
        return None
    return replace(reading, limit=Limit(upper=limit.upper))


def _counted(reading: Reading, limit: Limit, rule: Term) -> Reading | None:
    """A count of chance events, against how many were to be expected."""
    count, sure_pct = reading.value, dict(rule.data).get("sure_pct")  # edited files may lack it
    if not isinstance(count, float) or limit.upper is None or not count.is_integer():
        return None
    if not isinstance(sure_pct, int | float) or not 0.0 < sure_pct < 100.0:
        return None
    return judge_count(
        reading.name,
        int(count),
        limit.upper,
        confidence=sure_pct / 100.0,
        source=reading.source,
        required=reading.required,
    )


def _held_back(reading: Reading) -> bool:
    """Whether the stage itself found the value unsure, and not its uncertainty."""
    by_comparison = reading.reason is not None and reading.reason.means(
        ReadingReason.LIMIT_INSIDE_UNCERTAINTY
    )
    return reading.verdict is Verdict.UNSURE and not by_comparison
