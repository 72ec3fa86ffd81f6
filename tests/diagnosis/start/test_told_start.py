"""A card that does not start or stay: what is told of it."""

from __future__ import annotations

import pytest

from burnin.core.meaning import Meaning
from burnin.diagnosis.by_hand.seen import evidence_seen
from burnin.diagnosis.evidence import Evidence, Measured
from burnin.diagnosis.explain import explain_evidence
from burnin.diagnosis.explanation import Answer, Explanation
from burnin.diagnosis.meanings import Claim, Conclusion, FaultCause, NextCheck, StartCause
from burnin.diagnosis.point_state import PointSaid
from burnin.report.explanation import explanation_text
from tests.diagnosis.looks import lane_three, look


def first(evidence: Evidence, *damaged: str) -> Meaning:
    return explain_evidence(evidence, damaged).ranked[0].groups[0].cause


def codes(found: Explanation) -> set[str]:
    return {group.cause.code for group in found.ranked[0].groups}


def test_a_meter_and_a_ticket_name_the_line() -> None:
    absent = Evidence((), absent=True)
    assert first(absent, "A13", "A14").means(StartCause.CLOCK)
    reset = Evidence((), absent=True, measured=(Measured("A11", "open"),))
    assert first(reset).means(StartCause.RESET)
    shorted = Evidence((), absent=True, points=(PointSaid("supply_12v", "low"),))
    assert first(shorted).means(StartCause.RAIL_SHORT)
    lane_zero = Evidence((), absent=True, measured=(Measured("B14", "open"),))
    assert first(lane_zero).means(StartCause.LANE_ZERO)
    plug = Evidence((), absent=True, plug="8pin", points=(PointSaid("8pin/4", "open"),))
    assert first(plug).means(StartCause.SENSE_LINE)


def test_shares_of_a_candidate_add_up_to_it() -> None:
    for evidence in (Evidence((), absent=True), Evidence((look(),), starts=(True, False, True))):
        for ranked in explain_evidence(evidence).ranked:
            told = sum(group.probability for group in ranked.groups)
            assert 0.9 * ranked.probability <= told <= ranked.probability + 1e-9 or not told


def test_poor_lanes_and_failed_starts_are_one_story_of_the_clock() -> None:
    poor = look(
        generation=3, errors=(900, 800), managed=True,
        lanes=(frozenset(range(16)), frozenset(range(16))),
    )  # fmt: skip
    found = explain_evidence(Evidence((poor,), starts=(True, False, True, False)))
    assert found.ranked[0].groups[0].cause.means(StartCause.CLOCK)
    assert all(0.0 <= group.probability <= 1.0 for r in found.ranked for group in r.groups)


def test_what_keeps_it_from_starting_is_the_headline() -> None:
    found = explain_evidence(evidence_seen("beeps 3"), ["A13"])
    assert found.answer is Answer.EXPLAINED
    assert found.because is not None
    assert found.because.means(Conclusion.DOES_NOT_START)
    assert found.parts == ()
    assert explanation_text(found).startswith("The card does not start: the reference clock")
    assert explanation_text(found, "de").startswith("Die Karte läuft nicht an: der Referenztakt")


def test_without_a_likely_line_the_claim_stands_alone() -> None:
    found = explain_evidence(evidence_seen("no card"))
    assert found.because is None
    assert found.ranked[0].claim == ((Claim.NOT_UP(),),)


def test_a_card_that_leaves_and_one_that_starts_at_times_are_told_apart() -> None:
    left = explain_evidence(Evidence((look(),), starts=(True, True, True), lost=True))
    assert left.ranked[0].claim == ((Claim.LEAVES_THE_BUS(),),)
    assert StartCause.POWER_PATH.value in codes(left)
    at_times = explain_evidence(Evidence((look(),), starts=(True, False, True, False)))
    assert at_times.ranked[0].claim == ((Claim.UP_AT_TIMES(),),)
    assert {StartCause.RESET.value, StartCause.CLOCK.value} <= codes(at_times)


def test_an_open_supply_contact_of_a_card_that_runs_is_told() -> None:
    found = explain_evidence(Evidence((look(),), measured=(Measured("B2", "open"),)))
    assert found.ranked[0].claim == ((Claim.BESIDE_THE_LANES(),),)
    assert found.ranked[0].groups[0].cause.means(StartCause.SUPPLY_CONTACT)
    assert found.ranked[0].groups[0].names[0] == "B2"


def test_two_faults_of_start_and_link_are_told_together() -> None:
    found = explain_evidence(Evidence((lane_three(),), starts=(True, False, True, False)))
    told = codes(found)
    assert StartCause.RESET.value in told
    assert FaultCause.CONTACT.value in told
    assert len(found.ranked[0].claim[0]) == 2
    assert found.ranked[0].two_faults == pytest.approx(found.ranked[0].probability)


def test_the_next_step_is_the_meter_on_few_points_none_of_them_twice() -> None:
    absent = Evidence((), absent=True)
    step = explain_evidence(absent).steps[0]
    assert step.check.means(NextCheck.METER_AT_START)
    points = dict(step.check.data)["contacts"]
    assert isinstance(points, tuple)
    assert 1 <= len(points) <= 6
    measured = Evidence((), absent=True, measured=(Measured("A11", "alike"),))
    (later,) = [
        step.check for step in explain_evidence(measured).steps
        if step.check.means(NextCheck.METER_AT_START)
    ]  # fmt: skip
    assert "A11" not in str(later["contacts"])


def test_an_absent_card_is_claimed_once() -> None:
    found = explain_evidence(Evidence((), absent=True))
    claims = [ranked.claim for ranked in found.ranked]
    assert len(set(claims)) == len(claims)
    assert sum(ranked.probability for ranked in found.ranked) <= 1.0 + 1e-9
