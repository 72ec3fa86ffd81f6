"""Whole runs while the kernel does something to the card: what they find, and whom they name."""

from __future__ import annotations

from typing import Any

from tests.kernel.one_boot import Said, Told


def _reading(told: Told, name: str) -> dict[str, Any]:
    (found,) = (r for key, r in told["readings"].items() if key.split(" ", 1)[1] == name)
    return found  # type: ignore[no-any-return]


def _verdicts(told: Told) -> dict[str, str]:
    return {kind: verdict for kind, verdict, _ in told["stages"]}


def _parties(told: Told, reading: str) -> list[str]:
    for blame in told["reason"].get("blames", ()):
        if reading in blame["readings"]:
            return [party["code"] for party in blame["parties"]]
    return []


def test_a_sound_card_is_left_with_what_needs_a_load(said: Said) -> None:
    told = said.one("nothing_happens")
    assert told["verdict"] == "conditional"
    assert _verdicts(told)["enumeration"] == _verdicts(told)["display"] == "pass"
    assert not [key for key, r in told["readings"].items() if r["verdict"] == "fail"]
    assert {owed[0] for owed in told["owed"]} == {"3-link"}


def test_the_lesser_end_bounds_what_is_expected_and_the_rest_is_owed(said: Said) -> None:
    told = said.one("nothing_happens")
    assert _reading(told, "link_width_lanes")["verdict"] == "pass"
    missing = _reading(told, "full_link_shown")["reason"]
    assert missing["lanes"]["code"] == "link_lanes_of_card"
    assert missing["speed"]["code"] == "link_speed_of_card"


def test_without_sensor_and_engine_width_is_judged_and_all_that_warms_is_owed(said: Said) -> None:
    told = said.one("no_sensor_no_engine")
    assert told["verdict"] == "conditional"
    verdicts = _verdicts(told)
    assert verdicts["enumeration"] == verdicts["display"] == "pass"
    assert _reading(told, "link_width_lanes")["verdict"] == "pass"
    speed = _reading(told, "link_speed_gts")
    assert speed["verdict"] == "not measured"
    assert speed["reason"]["reason"]["code"] == "run_no_sensor_for_load"
    for kind in ("memory", "compute", "thermal_ramp"):
        assert verdicts[kind] == "not measured"
    owed = {stage: reason["code"] for stage, _, reason in told["owed"]}
    assert owed["4-memory"] == owed["5-compute"] == owed["6-thermal_ramp"]
    assert owed["6-thermal_ramp"] == "run_no_sensor_for_load"


def test_an_unmended_error_beside_traffic_is_found_by_its_counter_alone(said: Said) -> None:
    told = said.one("errors_beside_traffic")
    counted = _reading(told, "whole_run_uncorrected_errors")
    assert (counted["value"], counted["verdict"]) == (1.0, "fail")
    assert _reading(told, "whole_run_kernel_log")["verdict"] == "fail"
    assert "party_card" in _parties(told, "whole_run_uncorrected_errors")


def test_a_card_that_is_taken_out_ends_the_run_and_is_named(said: Said) -> None:
    told = said.one("taken_out")
    assert told["verdict"] == "aborted"
    assert told["reason"]["reason"]["code"] == "guard_card_gone"
    assert told["absent"] > 0
    assert told["elapsed_s"][1] < 5.0
    assert _reading(told, "whole_run_uncorrected_errors")["verdict"] == "not measured"


def test_a_card_that_was_away_between_two_looks_is_found_out(said: Said) -> None:
    told = said.one("out_and_back")
    assert told["absent"] == 0, "the samples saw it: nothing is shown here"
    log = _reading(told, "whole_run_kernel_log")
    assert log["verdict"] == "fail"
    assert [reason["code"] for reason in log["reason"]["reasons"]] == ["kernel_found_anew"]
    assert told["verdict"] == "conditional"
    assert "party_card" in _parties(told, "whole_run_kernel_log")


def test_counters_that_began_anew_are_no_errors(said: Said) -> None:
    told = said.one("counters_anew")
    assert told["kernel_before"] > 0
    assert told["kernel_after"] == 0
    assert told["rises"] == []
    assert told["restarted"]


def test_a_driver_that_lets_go_is_named_before_the_card(said: Said) -> None:
    told = said.one("driver_unbound")
    assert told["absent"] == 0
    assert _reading(told, "whole_run_driver")["verdict"] == "fail"
    assert _reading(told, "screen_lost_times Virtual-1")["reason"]["code"] == "display_output_gone"
    assert told["verdict"] == "conditional"
    assert _parties(told, "whole_run_driver")[0] == "party_driver"
