"""A record's evidence becomes a look at starts; the later word on a point stands."""

from __future__ import annotations

from burnin.diagnosis.evidence import Evidence, Measured
from burnin.diagnosis.point_state import PointSaid
from burnin.diagnosis.start.explain_start import explain_start, told
from burnin.diagnosis.start.of_evidence import look_at_start
from tests.diagnosis.looks import look


def test_everything_is_carried_over() -> None:
    evidence = Evidence((look(),), starts=(True, False), lost=True, plug="8pin")
    found = look_at_start(evidence, ["A13"])
    assert (found.starts, found.lost, found.absent) == ((True, False), True, False)
    assert (found.damaged, found.plug, found.edge_lanes) == (("A13",), "8pin", 16)
    assert look_at_start(Evidence((look(most_width=8, width=8),))).edge_lanes is None


def test_the_later_word_on_a_point_stands() -> None:
    before = (PointSaid("A11", "alike"), PointSaid("supply_12v", "alike"), PointSaid("X1", "low"))
    evidence = Evidence((), measured=(Measured("A11", "open"),), absent=True, points=before)
    found = look_at_start(evidence)
    assert set(found.said) == {PointSaid("A11", "open"), PointSaid("supply_12v", "alike")}
    assert told(explain_start(found)[0])[0].points == ("A11",)


def test_a_signal_out_of_line_is_taken_for_grounded_and_a_supply_for_poor() -> None:
    measured = (Measured("A13", "off"), Measured("B1", "off"))
    found = look_at_start(Evidence((), measured=measured, absent=True))
    assert set(found.said) == {PointSaid("A13", "low"), PointSaid("B1", "off")}
