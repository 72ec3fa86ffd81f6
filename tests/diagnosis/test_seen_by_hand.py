"""Evidence that somebody types, and several runs of one card as one evidence."""

from __future__ import annotations

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.core.errors import BadInput
from burnin.diagnosis.by_hand.seen import evidence_seen
from burnin.diagnosis.evidence import Evidence
from burnin.diagnosis.outputs.looks import Edid, OutputLook, Picture
from burnin.diagnosis.several_records import of_several
from tests.diagnosis.looks import look
from tests.refusals import refused


def test_a_link_is_read_as_typed() -> None:
    (seen,) = evidence_seen(" x8 of x16, Gen 3 of 4, warm").looks
    assert (seen.width, seen.most_width) == (8, 16)
    assert (seen.generation, seen.most_generation) == (3, 4)
    assert seen.warm
    (wide,) = evidence_seen("x16").looks
    assert (wide.width, wide.most_width, wide.generation) == (16, 16, None)


def test_a_card_that_never_enumerated_and_one_that_leaves() -> None:
    assert evidence_seen("beeps 3").absent
    assert evidence_seen("no card").looks == ()
    left = evidence_seen("x16, leaves")
    assert left.lost
    assert not left.absent


def test_outputs_are_read_as_typed() -> None:
    seen = evidence_seen("DP-1 dark, HDMI-A-1 no picture, DP-2 damaged edid")
    assert seen.outputs == (
        OutputLook("DP-1", False),
        OutputLook("HDMI-A-1", True, None, Picture.NONE),
        OutputLook("DP-2", True, Edid.DAMAGED),
    )


@pytest.mark.parametrize(
    "typed",
    ["", ",", "warm", "x3", "x16 of x8", "gen 9", "x8, no card", "DP-1", "DP-1 odd", "it broke"],
)
def test_anything_else_is_refused_with_what_to_type(typed: str) -> None:
    with refused(BadInput, match="--seen"):
        evidence_seen(typed)


@given(st.text(max_size=40))
def test_no_text_ends_in_anything_but_a_word(typed: str) -> None:
    with suppress(BadInput):
        evidence_seen(typed)


def test_runs_at_which_the_card_did_not_come_up_are_starts() -> None:
    came, not_come = Evidence((look(),)), Evidence((), absent=True)
    both = of_several((came, not_come, came))
    assert both.starts == (True, False, True)
    assert not both.absent
    assert len(both.looks) == 2
    assert of_several((not_come, not_come)).absent
    assert of_several((came,)) is came


def test_looks_of_another_slot_are_left_out() -> None:
    narrow = Evidence((look(most_width=8, width=8),))
    assert of_several((narrow, Evidence((look(),)))).looks == (look(),)
