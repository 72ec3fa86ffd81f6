"""A reading judged at another accepted risk, such as a profile's own."""

from __future__ import annotations

from dataclasses import replace

from burnin.core.decision import DecisionRule, RuleTerm, rule_of
from burnin.core.reading import Reading, Verdict, judge


def under_rule(reading: Reading, rule: DecisionRule) -> Reading:
    """The same reading, judged at the accepted risk of `rule`; only what a chance has judged."""
    limit, value = reading.limit, reading.value
    told = reading.rule
    if limit is None or told is None or not isinstance(value, int | float):
        return reading
    was, form = rule_of(told)
    if was == rule or not told.means(RuleTerm.NORMAL, RuleTerm.RECTANGULAR):
        return reading
    anew = judge(
        reading.name,
        value,
        reading.unit,
        limit,
        uncertainty=reading.uncertainty,
        form=form,
        rule=rule,
        source=reading.source,
        required=reading.required,
        why_fail=reading.reason if reading.verdict is Verdict.FAIL else None,
    )
    return replace(anew, stage=reading.stage)
