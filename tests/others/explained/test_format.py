"""Every class: plain JSON, the same for the same seed, names that exist, sound ones enough."""

from __future__ import annotations

import json
import sys
from functools import cache

import pytest

from burnin.connector.contact_map import contacts
from burnin.connector.other_connectors import plug_contacts
from tests.others.explained.cases import CLASSES, KINDS, NUISANCES, VISIBILITIES, JsonDict, Seen
from tests.others.explained.draw import case, cases, main

SEED, COUNT = 1900, 250


@cache
def _drawn(class_: str) -> list[JsonDict]:
    count = 80 if class_ == "memory" else COUNT
    return [one.to_dict() for one in cases(class_, SEED, count)]


@pytest.mark.parametrize("class_", CLASSES)
def test_plain_and_told(class_: str) -> None:
    for one in _drawn(class_):
        assert json.loads(json.dumps(one, allow_nan=False)) == one
        assert set(one) == {"class", "visibility", "seen", "truth"}
        assert one["class"] == class_
        assert set(one["seen"]) == set(Seen.__dataclass_fields__)
        truth = one["truth"]
        faults = [truth, *([truth["second"]] if truth["second"] else [])]
        assert {fault["kind"] for fault in faults} <= set(KINDS)
        assert set(truth["nuisance"]) <= set(NUISANCES)
        named = [name for fault in faults for name in fault["contacts"]]
        named += one["seen"]["ticket"]["damaged"] + one["seen"]["ticket"]["repaired"]
        assert set(named) <= set(contacts()) | set(plug_contacts())


@pytest.mark.parametrize("class_", CLASSES)
def test_same_seed_same_case(class_: str) -> None:
    assert case(class_, SEED, 3).to_dict() == _drawn(class_)[3]
    assert case(class_, SEED + 1, 3).to_dict() != _drawn(class_)[3]


@pytest.mark.parametrize("class_", [name for name in CLASSES if name != "memory"])
def test_a_quarter_is_sound_and_shows_nothing(class_: str) -> None:
    sound = [one for one in _drawn(class_) if one["truth"]["kind"] == "sound"]
    assert len(sound) >= 0.2 * COUNT
    assert not any(one["truth"]["shows"] or one["truth"]["second"] for one in sound)


@pytest.mark.parametrize("class_", ["link", "rail"])
def test_visibility_hides(class_: str) -> None:
    found = set()
    for one in _drawn(class_):
        visibility = one["visibility"]
        found.add(visibility)
        for look in one["seen"]["looks"] + one["seen"]["known_good"]:
            if visibility in ("no_root", "neither"):
                assert look["managed"] is look["target_generation"] is None
                for name in ("errors", "lanes_before", "lanes_after"):
                    assert look[name][1] is None
            else:
                assert look["managed"] is not None
                assert look["lanes_after"][1] is not None
            if visibility in ("no_counters", "neither"):
                assert look["errors"] == [None, None]
    assert found == set(VISIBILITIES)


def test_printed_one_a_line(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(
        sys, "argv", ["draw", "--seed", str(SEED), "--count", "3", "--class", "output"]
    )
    main()
    lines = capsys.readouterr().out.splitlines()
    assert [json.loads(line) for line in lines] == _drawn("output")[:3]
