"""Starts and link make one answer, and neither's evidence counts twice."""

from __future__ import annotations

import pytest

from burnin.diagnosis.candidates import Candidate
from burnin.diagnosis.evidence import Evidence, LinkLook, Measured
from burnin.diagnosis.point_state import PointSaid
from burnin.diagnosis.posterior import Posterior
from burnin.diagnosis.start.explain_start import StartLook, explain_start, told
from burnin.diagnosis.start.start_faults import StartPlace
from burnin.diagnosis.start.with_link import WholeCandidate, of_link_alone, whole_of
from tests.diagnosis.looks import lane_three, look

UP = StartLook(starts=(True, True, True), edge_lanes=16)
AT_TIMES = StartLook(starts=(True, False, True, False), edge_lanes=16)
POOR = {
    "generation": 3, "errors": (900, 800), "managed": True,
    "lanes": (frozenset(range(16)), frozenset(range(16))),
}  # fmt: skip


def whole(start: StartLook, *looks: LinkLook) -> tuple[tuple[WholeCandidate, ...], Posterior]:
    posterior = Posterior(of_link_alone(Evidence(looks)))
    return whole_of(explain_start(start), posterior), posterior


def starts_soundly(candidate: WholeCandidate) -> bool:
    return candidate.start is not None and candidate.start.nothing


def says_nothing(link: Candidate | None, posterior: Posterior) -> bool:
    return link is not None and link.number == posterior.nothing_class


def test_a_sound_card_is_sound() -> None:
    found, posterior = whole(UP, look())
    assert starts_soundly(found[0])
    assert says_nothing(found[0].link, posterior)
    assert sum(c.probability for c in found) == pytest.approx(1.0)


def test_a_fault_of_either_part_is_told_as_one_and_of_both_as_both() -> None:
    of_lane, posterior = whole(UP, lane_three())
    assert starts_soundly(of_lane[0])
    assert not says_nothing(of_lane[0].link, posterior)
    of_start, posterior = whole(AT_TIMES, look())
    assert not starts_soundly(of_start[0])
    assert says_nothing(of_start[0].link, posterior)
    of_both, posterior = whole(AT_TIMES, lane_three())
    assert not starts_soundly(of_both[0])
    assert not says_nothing(of_both[0].link, posterior)


def test_poor_lanes_throughout_and_failed_starts_speak_for_the_clock() -> None:
    alone = told(explain_start(AT_TIMES)[0])
    assert alone[0].place is StartPlace.RESET
    found, _ = whole(AT_TIMES, look(**POOR))
    assert found[0].start is not None
    assert told(found[0].start)[0].place is StartPlace.CLOCK


def test_an_absent_card_is_explained_by_its_start_alone() -> None:
    start = explain_start(StartLook(absent=True, said=(PointSaid("A11", "open"),)))
    found = whole_of(start, None)
    assert [c.probability for c in found] == [c.probability for c in start]
    assert found[0].link is None


def test_what_starts_explain_is_not_asked_of_the_link_again() -> None:
    measured = (Measured("A11", "open"), Measured("B14", "open"), Measured("B1", "off"))
    evidence = Evidence((look(),), measured=measured, starts=(False,), lost=True)
    left = of_link_alone(evidence)
    assert left.measured == (Measured("B14", "open"),)
    assert (left.starts, left.lost, left.absent) == ((), False, False)
    assert left.looks == evidence.looks
