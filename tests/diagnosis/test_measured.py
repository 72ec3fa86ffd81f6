from __future__ import annotations

import pytest

from burnin.core.errors import BadInput
from burnin.diagnosis.by_hand.measured import after_of
from burnin.diagnosis.by_hand.seen import evidence_seen
from burnin.diagnosis.evidence import Evidence, Measured
from burnin.diagnosis.explain import explain_evidence
from burnin.diagnosis.meanings import NextCheck
from burnin.diagnosis.outputs.looks import OutputLook, Picture
from burnin.diagnosis.point_state import PointSaid
from tests.diagnosis.looks import look
from tests.refusals import refused


def test_what_a_meter_said_is_read_as_typed() -> None:
    assert after_of(" a25 Open,B14  alike ,").measured == (
        Measured("A25", "open"), Measured("B14", "alike"),
    )  # fmt: skip
    assert after_of("").measured == ()


@pytest.mark.parametrize(
    "typed",
    [
        "A99 open", "A25", "A25 broken", "open A25", "DP-1", "DP-1 off", "DP-1 21 open",
        "X-1 1 open", "supply_12v", "supply_12v hot", "8pin/99 open", "DP-1 snow",
    ],
)
def test_anything_else_is_refused_with_what_to_type(typed: str) -> None:
    with refused(BadInput, match="--after"):
        after_of(typed)


def test_points_of_supply_and_plug_and_pictures_are_read_as_typed() -> None:
    found = after_of("supply_12v Short, 8pin/4 open, dp-2 sparkles, HDMI-A-1 no picture")
    assert found.points == (PointSaid("supply_12v", "low"), PointSaid("8pin/4", "open"))
    assert [(one.output, one.picture) for one in found.tried] == [
        ("DP-2", Picture.SPARKLES), ("HDMI-A-1", Picture.NONE),
    ]  # fmt: skip
    evidence = found.added_to(
        Evidence((), absent=True, outputs=(OutputLook("DP-2", True), OutputLook("HDMI-A-1", True)))
    )
    assert evidence.plug == "8pin"
    assert [look.picture for look in evidence.outputs] == [Picture.SPARKLES, Picture.NONE]


def test_what_is_found_later_comes_on_top() -> None:
    before, later = after_of("A25 open, supply_12v alike"), after_of("A25 alike, DP-1 stays")
    both = before.and_then(later)
    assert both.measured == (*before.measured, *later.measured)
    assert (both.points, both.tried) == (before.points, later.tried)


def test_what_was_found_sound_is_not_asked_for_again() -> None:
    narrow = Evidence((look(width=4, managed=True),))

    def asked(evidence: Evidence) -> set[str]:
        steps = explain_evidence(evidence).steps
        names: set[str] = set()
        for step in steps:
            if step.check.means(NextCheck.METER):
                told = step.check["contacts"]
                assert isinstance(told, tuple)
                assert len(told) <= 6
                names |= {str(name) for name in told}
        return names

    first = asked(narrow)
    assert first
    again = Evidence(narrow.looks, measured=tuple(Measured(name, "alike") for name in first))
    assert not first & asked(again)


@pytest.mark.parametrize(
    ("german", "english"),
    [
        ("A25 offen, B30 gleich", "A25 open, B30 alike"),
        ("DP-2 bleibt, DP-1 kommt", "DP-2 stays, DP-1 comes"),
        ("DP-2 18 offen", "DP-2 18 open"),
        ("DP-2/18 open", "DP-2 18 open"),
        ("HDMI-A-1 kein Bild", "HDMI-A-1 no picture"),
        ("supply_12v kurzschluss, 8pin/4 offen", "supply_12v short, 8pin/4 open"),
    ],
)
def test_what_was_tried_is_understood_in_both_languages(german: str, english: str) -> None:
    assert after_of(german) == after_of(english)


def test_a_contact_that_every_output_has_is_asked_back_for_its_output() -> None:
    with refused(BadInput, match="DP-2 18 open"):
        after_of("dp/18 open")


def test_what_was_seen_is_understood_in_german_too() -> None:
    assert evidence_seen("x8 von x16, DP-2 flimmert") == evidence_seen("x8 of x16, DP-2 sparkles")
