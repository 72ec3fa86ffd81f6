"""One reading judged anew: whoever wrote another verdict, the one that follows comes back."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TypeVar

import pytest

from burnin.core.count_readings import judge_count, judge_ratio
from burnin.core.decision import DecisionRule, Form, RuleTerm
from burnin.core.events import TrafficSummed
from burnin.core.meaning import Meaning, Term
from burnin.core.reading import (
    Limit,
    Reading,
    ReadingReason,
    Verdict,
    judge,
    judge_text,
    not_measured,
    of_stage,
)
from burnin.replay.readings_anew import reading_anew
from burnin.stages.link.error_readings import new_errors
from burnin.stages.link.sums import Traffic
from tests.record.streams import SomeSource, WhyReason

M = TypeVar("M", bound=Meaning)
STAGE = "3-link"
METER = SomeSource.METER(name="probe")
CAREFUL = DecisionRule(pass_risk=0.001, fail_sure=0.999)
INSIDE = ReadingReason.LIMIT_INSIDE_UNCERTAINTY(value=1.0, uncertainty=5.0, unit="K")
"""A comparison had found the value unsure, and no stage on grounds of its own."""
BOLD = DecisionRule(pass_risk=0.3, fail_sure=0.7)


def judged() -> Iterator[Reading]:
    """Every sort of comparison, with verdicts that hang on all that it takes."""
    within = Limit(-3.0, 3.0)
    for value in (1.0, 2.7, 3.2, 4.0):
        for rule in (CAREFUL, DecisionRule(), BOLD):
            for form in Form:
                yield judge(
                    "heat_k", value, "K", within, uncertainty=0.6, rule=rule, form=form,
                    source=METER, required=value < 3.0,
                )  # fmt: skip
    yield judge("light_lx", 20.0, "lx", Limit(50.0, None), source=METER)
    yield judge("lamps", 3.0, "", Limit(0.0, 3.0), required=False)
    yield judge("power_w", 300.0, "W", Limit(None, 450.0))  # no uncertainty: no pass
    yield judge_text("name", "0x10de", ("0x10de", "0x1002"), source=METER, required=False)
    yield judge_text("name", "0x8086", ("0x10de", "0x1002"))
    for count in (0, 4, 7, 8, 9, 30):
        for sure in (0.8, 0.95, 0.999):
            yield judge_count(
                "flips", count, 3.5, confidence=sure, source=METER, required=count > 7
            )
    yield judge_count("flips", 2, 0.0, confidence=0.005)


def rounded(reading: Reading) -> Reading:
    """A confidence that is kept in per cent comes back with another last digit."""

    def meaning(told: M | None) -> M | None:
        if told is None:
            return None
        pairs = ((n, round(v, 6) if isinstance(v, float) else v) for n, v in told.data)
        return type(told)(told.code, tuple(pairs))

    return replace(reading, rule=meaning(reading.rule), reason=meaning(reading.reason))


@pytest.mark.parametrize("told", Verdict)
def test_whatever_verdict_was_written_the_one_that_follows_comes_back(told: Verdict) -> None:
    seen = set()
    for reading in judged():
        own = of_stage(reading, STAGE)
        seen.add(own.verdict)
        written = replace(own, verdict=told, reason=INSIDE)
        anew = reading_anew(written)
        if told is own.verdict:
            assert anew is written
            continue
        assert rounded(anew) == rounded(own)
    assert seen == {Verdict.PASS, Verdict.FAIL, Verdict.UNSURE}


@pytest.mark.parametrize("told", Verdict)
def test_a_reading_whose_verdict_follows_keeps_the_reason_of_its_stage(told: Verdict) -> None:
    """A comparison would give another reason: the stage knew more."""
    for reading in judged():
        own = of_stage(replace(reading, reason=WhyReason.NO_LAMP()), STAGE)
        if own.verdict is told:
            assert reading_anew(own) is own


def test_what_no_comparison_made_stays_as_it_was_written() -> None:
    number = judge("light_lx", 20.0, "lx", Limit(50.0, None))
    exact = judge_count("flips", 9, 3.5)
    share = judge_ratio("answers", 3, 4, None)
    assert share.rule is not None
    kept = [
        not_measured("power_w", "W", WhyReason.NO_LAMP(), limit=Limit(upper=450.0)),
        judge("colour", 7, "", None),
        replace(judge("colour", 7, "", None), verdict=Verdict.PASS),
        replace(judge_text("words", "any", None), verdict=Verdict.FAIL),
        replace(share, verdict=Verdict.PASS),
        # held back by the stage on grounds of its own, though the value would fail
        replace(number, verdict=Verdict.UNSURE, reason=WhyReason.NO_LAMP()),
        replace(
            judge_text("name", "x", ("y",)), verdict=Verdict.UNSURE, reason=WhyReason.NO_LAMP()
        ),
        # counts that were edited into what is no count, or lack what judged them
        replace(exact, value=9.5, verdict=Verdict.PASS),
        replace(exact, limit=Limit(lower=1.0), verdict=Verdict.PASS),
        *(
            replace(exact, verdict=Verdict.PASS, rule=RuleTerm.POISSON(
                sure_pct=sure, lower=0.0, upper=1.0
            ))
            for sure in (0.0, 100.0, -5.0, 250.0, "95", None)
        ),
    ]  # fmt: skip
    for reading in kept:
        own = of_stage(reading, STAGE)
        assert reading_anew(own) is own, own


def sums(errors: int, moved_bytes: int = 10**12) -> TrafficSummed:
    return TrafficSummed(STAGE, 2.0, moved_bytes, 0, 0, {"card bad TLP": errors}, {})


def old_link_errors(count: float, verdict: Verdict) -> Reading:
    """As an older version wrote it: a count against a limit, by no rule that it names."""
    return Reading(
        "new_link_errors", count, "", 0.0, Limit(0.0, 0.0), (), verdict, None, METER,
        required=False, stage=STAGE,
    )  # fmt: skip


def test_link_errors_of_an_older_record_are_judged_by_the_sums_that_it_kept() -> None:
    traffic = {STAGE: sums(500)}
    by_sums = {r.name: r for r in new_errors(Traffic.from_event(sums(500)), 1, None)}
    expected = replace(by_sums["new_link_errors"], stage=STAGE, required=False)
    assert expected.verdict is Verdict.FAIL
    assert reading_anew(old_link_errors(500.0, Verdict.PASS), traffic) == expected
    as_it_is = old_link_errors(500.0, Verdict.FAIL)
    assert reading_anew(as_it_is, traffic) is as_it_is


def test_few_errors_in_many_bits_are_no_failure_though_the_old_limit_was_none() -> None:
    old = old_link_errors(3.0, Verdict.FAIL)
    assert reading_anew(old, {STAGE: sums(3)}).verdict is Verdict.PASS
    # without sums of this stage the value meets the limit that the record names
    assert reading_anew(old, {"4-link": sums(3)}) is old
    assert reading_anew(old) is old
    assert reading_anew(replace(old, verdict=Verdict.PASS)).verdict is Verdict.FAIL


def test_a_rule_that_somebody_edited_is_no_traceback() -> None:
    exact = judge_count("flips", 9, 3.5)
    bare = RuleTerm.POISSON(sure_pct=95.0, lower=1.0, upper=2.0)
    cut = replace(exact, rule=Term(bare.code, tuple(d for d in bare.data if d[0] != "sure_pct")))
    assert reading_anew(cut) == cut
