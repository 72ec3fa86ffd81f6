"""Damage as people type it at the counter."""

from __future__ import annotations

import pytest

from burnin.core.errors import BadInput
from burnin.ticket.intake.damage_told import parse_damage


def short(text: str) -> list[tuple[str, str, str]]:
    return [(d["where"], d["what"], d["note"]) for d in parse_damage(text)]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("B14 torn", [("B14", "missing", "")]),
        ("B14–B15 torn off", [("B14", "missing", ""), ("B15", "missing", "")]),
        ("bent bracket", [("bracket", "bent", "")]),
        ("B14 missing, bracket bent", [("B14", "missing", ""), ("bracket", "bent", "")]),
        ("B14, B15 missing", [("B14", "missing", ""), ("B15", "missing", "")]),
        ("B14,B15 missing", [("B14", "missing", ""), ("B15", "missing", "")]),
        ("bracket bent, by the fall", [("bracket", "bent", "by the fall")]),
        ("bracket bent: by the fall, on stone", [("bracket", "bent", "by the fall, on stone")]),
        ("Slotblech verbogen; B14 abgerissen", [("bracket", "bent", ""), ("B14", "missing", "")]),
    ],
)
def test_each_damage_is_kept_for_itself(text: str, told: list[tuple[str, str, str]]) -> None:
    assert short(text) == told


@pytest.mark.parametrize(
    "text", ["B14", "B14 missing, bracket", "B14 missing, board strange", "", "B14 nice", "bent"]
)
def test_what_is_no_damage_is_refused_whole(text: str) -> None:
    with pytest.raises(BadInput):
        parse_damage(text)
