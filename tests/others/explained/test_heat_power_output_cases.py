"""Cases of heat, power and displays keep physics and their own rules."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from tests.others.explained.cases import Fault, JsonDict
from tests.others.explained.coolers import ail, causes_of, draw_kind, one_of
from tests.others.explained.draw import cases
from tests.others.explained.supply import PLUGS, Plug, draw_supply


@cache
def _drawn(class_: str) -> list[JsonDict]:
    return [one.to_dict() for one in cases(class_, 1903, 400)]


def _by_cause(class_: str, cause: str) -> list[JsonDict]:
    return [one for one in _drawn(class_) if one["truth"]["cause"] == cause]


def test_sensors_tell_whole_degrees_and_order() -> None:
    for one in _drawn("heat"):
        heat = one["seen"]["heat"]
        for step in heat["steps"]:
            for name in ("gpu_c", "hotspot_c", "memory_c"):
                assert step[name] is None or isinstance(step[name], int)
            if one["truth"]["cause"] == "sound" and step["hotspot_c"] is not None:
                assert step["hotspot_c"] >= step["gpu_c"] - 1


def test_sound_cards_lie_within_their_kind() -> None:
    far = near = 0
    for one in _by_cause("heat", "sound"):
        heat = one["seen"]["heat"]
        for name, (median, _, count) in (heat["known_good"] or {}).items():
            if heat[name] is not None:
                assert count >= 2
                ratio = heat[name][0] / median
                near += 0.7 < ratio < 1.4
                far += not 0.7 < ratio < 1.4
    assert near > 60
    assert far / near < 0.05


@pytest.mark.parametrize(
    ("cause", "name", "least"),
    [
        ("mount", "die_to_block_k_per_w", 1.5),
        ("paste in part", "die_to_hotspot_k_per_w", 1.5),
        ("fins", "block_to_room_k_per_w", 1.15),
        ("flow", "block_to_room_k_per_w", 1.15),
        ("pump dry", "block_to_room_k_per_w", 4.0),
    ],
)
def test_cause_raises_its_own_resistance(cause: str, name: str, least: float) -> None:
    ratios = []
    for one in _by_cause("heat", cause):
        heat = one["seen"]["heat"]
        if heat["known_good"] and heat[name]:
            ratios.append(heat[name][0] / heat["known_good"][name][0])
    assert len(ratios) >= 3
    assert np.median(ratios) > least


def test_causes_belong_to_their_cooling() -> None:
    assert "pump dry" not in causes_of("air")
    assert "fan" not in causes_of("passive")
    for one in _drawn("heat"):
        assert one["truth"]["cause"] in causes_of(one["seen"]["heat"]["cooling"])


def test_ailing_leaves_the_rest_alone() -> None:
    rng = np.random.default_rng(4)
    card = one_of(draw_kind(rng), rng)
    assert ail(card, "room", rng)[0].die_to_block == card.die_to_block
    assert ail(card, "fins", rng)[0].die_to_hotspot == card.die_to_hotspot
    assert ail(card, "sound", rng)[0] == card


def _slope_mohm(supply: JsonDict, volts: str) -> float:
    """Fall of volts with the plug's current, in mΩ, by a straight line."""
    amps = [(s["power_w"] - (s["slot_w"] or 0.25 * s["power_w"])) / 12 for s in supply["steps"]]
    return float(-np.polyfit(amps, [s[volts] for s in supply["steps"]], 1)[0] * 1000)


def test_lost_contacts_steepen_the_fall() -> None:
    plug = Plug("8pin", *PLUGS["8pin"])
    rng = np.random.default_rng(5)
    fault = Fault("supply contact", ("8pin/1", "8pin/2"), effect="open")

    def mean(of: Fault | None) -> float:
        drawn = [draw_supply(plug, of, rng) for _ in range(80)]
        return float(np.mean([_slope_mohm(supply, "plug_v") for supply in drawn]))

    assert mean(fault) > mean(None) + 5


def test_sense_line_and_low_limit_hold_power_down() -> None:
    for one in _by_cause("power", "power limit set low"):
        supply = one["seen"]["supply"]
        assert supply["limit_w"] < supply["default_limit_w"]
        assert "power limit" in supply["steps"][-1]["throttle"]
    for one in _by_cause("power", "sound"):
        supply = one["seen"]["supply"]
        assert supply["limit_w"] == supply["default_limit_w"]
        assert not any(step["throttle"] for step in supply["steps"])
    told = [one["seen"]["supply"] for one in _by_cause("power", "sense line")]
    assert any(
        s and s["sensed_limit_w"] not in (None, PLUGS[s["plug"]][2]) for s in told
    )


def test_sagging_supply_pulls_both_down() -> None:
    for one in _by_cause("power", "supply unit sags"):
        steps = one["seen"]["supply"]["steps"]
        assert steps[-1]["plug_v"] < steps[0]["plug_v"]
        if steps[0]["slot_v"] is not None:
            assert steps[-1]["slot_v"] < steps[0]["slot_v"]


def test_outputs_show_what_their_group_does() -> None:
    for one in _drawn("output"):
        truth, outputs = one["truth"], one["seen"]["outputs"]
        by_name = {out["name"]: out for out in outputs}
        assert len(by_name) == len(outputs)
        others = [out for out in outputs if out["name"] != truth["output"]]
        if truth["output"] is not None:
            assert all(o["detected"] and o["edid"] == "sound" for o in others)
            out = by_name[truth["output"]]
            if truth["group"] == "picture lanes":
                assert out["detected"]
                assert out["edid"] == "sound"
            swapped = out["swapped_cable"]
            assert swapped in (None, "detected" if truth["group"] == "cable" else "same")
        for out in outputs:
            damaged = out["edid"] == "damaged"
            assert (out["wrong_bits"] is not None) == damaged
            if damaged:
                assert out["ones_read_as_zero"] + out["zeros_read_as_one"] >= len(out["wrong_bits"])
                assert set(out["wrong_bits"]) <= set(range(8))
