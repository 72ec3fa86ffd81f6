from __future__ import annotations

import pytest

from burnin.core.errors import BadInput
from burnin.diagnosis.evidence import Evidence, Measured
from burnin.diagnosis.explain import explain_evidence
from burnin.diagnosis.meanings import NextCheck
from burnin.diagnosis.measured import after_of
from tests.diagnosis.looks import look


def test_what_a_meter_said_is_read_as_typed() -> None:
    assert after_of(" a25 Open,B14  alike ,").measured == (
        Measured("A25", "open"), Measured("B14", "alike"),
    )  # fmt: skip
    assert after_of("").measured == ()


@pytest.mark.parametrize(
    "typed",
    ["A99 open", "A25", "A25 broken", "open A25", "DP-1", "DP-1 off", "DP-1 21 open", "X-1 1 open"],
)
def test_anything_else_is_refused_with_what_to_type(typed: str) -> None:
    with pytest.raises(BadInput, match="--after"):
        after_of(typed)


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
