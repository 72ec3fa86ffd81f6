"""The first screen of an explanation: cause, how sure in words, next step; no bits, no shares."""

from __future__ import annotations

import re

import pytest

from burnin.diagnosis.by_hand.seen import evidence_seen
from burnin.diagnosis.explain import explain_evidence
from burnin.report.explanation import explanation_json, explanation_text
from burnin.report.explanation_first import explanation_first

FOUND = explain_evidence(evidence_seen("x8 of x16"))


@pytest.mark.parametrize(
    ("language", "in_order"),
    [
        ("en", ["Likely cause: ", "How sure: ", "Next: ", "--all"]),
        ("de", ["Wahrscheinliche Ursache: ", "Wie sicher: ", "Als Nächstes: ", "--all"]),
    ],
)
def test_cause_how_sure_and_next_step_stand_in_that_order(
    language: str, in_order: list[str]
) -> None:
    told = " ".join(explanation_first(FOUND, language).split())
    places = [told.find(word) for word in in_order]
    assert -1 not in places, told
    assert places == sorted(places)


@pytest.mark.parametrize("width", [40, 60, 80, 120])
def test_it_is_short_and_fits_the_terminal(width: int) -> None:
    lines = explanation_first(FOUND, "de", width).splitlines()
    assert max(map(len, lines)) < width
    assert width < 80 or len(lines) <= 14


def test_bits_are_for_machines_alone() -> None:
    for told in (explanation_first(FOUND), explanation_text(FOUND)):
        assert not re.search(r"\d bits?\b", told)
    assert '"bits"' in explanation_json(FOUND)
    assert "so viele diese Ursache" in explanation_text(FOUND, "de")


def test_where_nothing_is_to_explain_no_cause_is_called_likely() -> None:
    told = explanation_first(explain_evidence(evidence_seen("x16 of x16")))
    assert "Likely cause" not in told
    assert "How sure" not in told
