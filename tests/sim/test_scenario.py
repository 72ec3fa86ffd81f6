from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from burnin.core.errors import ScenarioError
from burnin.sim.scenario.model import load_scenario, scenario_from, scenario_names
from tests.refusals import refused, words_of
from tests.sim.machines import content_of

EXPECTED = {
    "healthy", "healthy_loop", "healthy_bench_block", "healthy_x8", "healthy_compute",
    "narrow_link", "slow_link_under_load", "dead_output", "stuck_memory", "no_coolant",
    "fan_stall", "falls_off_bus",
}  # fmt: skip


def test_every_promised_scenario_loads_under_its_own_name() -> None:
    assert set(scenario_names()) >= EXPECTED
    for name in scenario_names():
        scenario = load_scenario(name)
        assert scenario.name == name
        assert scenario.title
        assert bool(scenario.causes) == (not name.startswith("healthy"))


@pytest.mark.parametrize("name", sorted(EXPECTED))
def test_no_scenario_names_its_outcome(name: str) -> None:
    words = str(content_of(name)).lower()
    for outcome in ("verdict", "fail", "abort", "conditional", "exit code", "expected_"):
        assert outcome not in words


def card(**changes: Any) -> dict[str, Any]:
    content = content_of("healthy")
    content["card"].update(changes)
    return content


def bench(**changes: Any) -> dict[str, Any]:
    content = content_of("healthy")
    content["bench"].update(changes)
    return content


def caused(cause: dict[str, Any], base: str = "healthy") -> dict[str, Any]:
    content = content_of(base)
    content["causes"] = [cause]
    return content


CONTACT = {"kind": "contact", "contact": "B54", "state": "open"}


@pytest.mark.parametrize(
    ("content", "field", "given", "allowed"),
    [
        (caused(CONTACT | {"contact": "B83"}), "causes[0].contact", "'B83'", "A1 to A82 or B1"),
        (
            caused(CONTACT | {"state": "resistive", "ohms": -3.0}),
            "causes[0].ohms", "-3.0", "greater than 0",
        ),
        (caused(CONTACT | {"state": "resistive"}), "causes[0]", "a table", "ohms"),
        (caused(CONTACT | {"ohms": 5.0}), "causes[0]", "a table", "resistive"),
        (caused(CONTACT | {"state": "loose"}), "causes[0].state", "'loose'", "'open'"),
        (caused(CONTACT | {"verdict": "fail"}), "causes[0].verdict", "'fail'", "not permitted"),
        (caused({"kind": "gremlin"}), "causes[0]", "a table", "'contact'"),
        (card(width_lanes=12), "card.width_lanes", "12", "1, 4, 8 or 16"),
        (card(generation=7), "card.generation", "7", "1, 2, 3, 4 or 5"),
        (card(cooling="oil"), "card.cooling", "'oil'", "'air'"),
        (card(max_power_w="450"), "card.max_power_w", "'450'", "valid number"),
        (card(max_power_w=float("nan")), "card.max_power_w", "nan", "finite"),
        (card(slowdown_c=101.0), "card", "a table", "slowdown_c must be below shutdown_c"),
        (card(colour="red"), "card.colour", "'red'", "not permitted"),
        (caused(CONTACT, "healthy_x8"), "causes[0].contact", "'B54'", "ends at contact 49"),
        (
            caused({"kind": "output", "output": "DP-9", "contact": "ddc", "state": "open"}),
            "causes[0].output", "'DP-9'", "DP-1, DP-2, DP-3, HDMI-A-1",
        ),
        (
            caused({"kind": "memory_line", "chip": 12, "bit": 0, "stuck_at": 1}),
            "causes[0].chip", "12", "chips 0 to 11",
        ),
        (
            caused({"kind": "memory_cell", "address": 24 << 30, "bit": 0, "stuck_at": 1}),
            "causes[0].address", str(24 << 30), "ends at",
        ),
        (
            caused({"kind": "memory_cell", "address": 6, "bit": 0, "stuck_at": 1}),
            "causes[0].address", "6", "multiple of 4",
        ),
        (
            caused(CONTACT | {"state": "short_to_neighbour"}),
            "causes[0]", "a table", "neighbour is needed",
        ),
        (
            caused(CONTACT | {"state": "short_to_neighbour", "neighbour": "B57"}),
            "causes[0]", "a table", "next to B54 lie B53 and B55",
        ),
        (caused(CONTACT | {"every_s": 2.0}), "causes[0]", "a table", "belong together"),
        (caused(CONTACT | {"every_s": 2.0, "for_s": 2.0}), "causes[0]", "a table", "below every_s"),
        (caused(CONTACT | {"at": "desk"}), "causes[0].at", "'desk'", "'card' or 'slot'"),
        (
            caused({"kind": "coupling_capacitor", "lane": 8, "leg": "p", "state": "open"},
                   "healthy_x8"),
            "causes[0].lane", "8", "lanes 0 to 7",
        ),
        (
            caused({"kind": "coupling_capacitor", "lane": 16, "leg": "p", "state": "open"}),
            "causes[0].lane", "16", "less than or equal to 15",
        ),
        (
            caused({"kind": "power_plug", "plug": 0, "contact": "4", "state": "open"}),
            "causes[0].plug", "0", "are: none",
        ),
        (
            caused({"kind": "power_plug", "plug": 0, "contact": "S9", "state": "open"}, "plugged"),
            "causes[0].contact", "'S9'", "contacts of a 12v2x6 plug are: 1, 2",
        ),
        (
            caused({"kind": "memory_cell", "address": 4, "bit": 0}),
            "causes[0]", "a table", "one of stuck_at and follows_bit",
        ),
        (
            caused({"kind": "memory_chip", "chip": 12}), "causes[0].chip", "12", "chips 0 to 11",
        ),
        (
            caused({"kind": "output", "output": "HDMI-A-1", "contact": "main_lane_0",
                    "state": "open"}),
            "causes[0]", "a table", "only a DisplayPort output",
        ),
        (
            caused({"kind": "sensor", "sensor": "die", "state": "slow"}),
            "causes[0]", "a table", "lag_s is needed",
        ),
        (bench(slot_width_lanes=12), "bench.slot_width_lanes", "12", "1, 2, 4, 8 or 16"),
        (bench(port_width_lanes=8), "bench", "a table", "must not be below slot_width_lanes"),
        (bench(riser_loss_db=-1.0), "bench.riser_loss_db", "-1.0", "greater than or equal to 0"),
        (caused({"kind": "coolant", "state": "absent"}), "causes[0].kind", "'coolant'", "air"),
        (
            caused({"kind": "fan", "state": "stalled"}, "healthy_loop"),
            "causes[0].kind", "'fan'", "water_loop",
        ),
        (caused({"kind": "fan", "state": "stalls"}), "causes[0]", "a table", "stalls_at_s"),
        (caused({"kind": "bus", "state": "falls_off"}), "causes[0]", "a table", "after_load_s"),
    ],
)
def test_a_bad_scenario_names_file_field_value_and_what_is_allowed(
    content: dict[str, Any], field: str, given: str, allowed: str
) -> None:
    with pytest.raises(ScenarioError) as caught:
        scenario_from(content, "bench.toml")
    (line,) = words_of(caught.value).splitlines()
    file, where, told, *rule = line.split(": ")
    assert file == "bench.toml"
    assert where == field
    assert told == f"given {given}"
    assert allowed in ": ".join(rule)


def test_every_fault_of_a_file_is_told_at_once() -> None:
    content = caused(CONTACT | {"contact": "C1"})
    content["card"]["width_lanes"] = 3
    with pytest.raises(ScenarioError) as caught:
        scenario_from(content, "bench.toml")
    assert len(words_of(caught.value).splitlines()) == 2


def test_a_missing_key_is_named() -> None:
    content = content_of("healthy")
    del content["card"]["cooling"]
    with refused(ScenarioError, match=r"card\.cooling: given nothing: Field required"):
        scenario_from(content, "bench.toml")


def test_a_file_of_the_technicians_own_is_read(tmp_path: Path) -> None:
    own = tmp_path / "mine.toml"
    own.write_text('name = "mine"\ntitle = "x"\n[card]\ncooling = "air"\n', encoding="utf-8")
    assert load_scenario(str(own)).card.max_power_w == 450.0


@pytest.mark.parametrize(
    ("text", "told"), [("name = ", "not valid TOML"), ("\xff", "mine.toml")]
)
def test_a_file_that_is_no_toml_is_refused(tmp_path: Path, text: str, told: str) -> None:
    own = tmp_path / "mine.toml"
    own.write_bytes(text.encode("latin-1"))
    with refused(ScenarioError, match=told):
        load_scenario(str(own))


def test_an_unknown_name_is_answered_with_the_known_ones() -> None:
    with refused(ScenarioError, match=r"no such scenario .*dead_output.*healthy"):
        load_scenario("helthy")
