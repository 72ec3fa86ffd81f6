"""Each cause shows in the files where it should, and in no other.

Two machines of the same seed do the same work; one has the cause. What they answer is compared
file by file.
"""

from __future__ import annotations

import math
from typing import Any, get_args

import pytest

from burnin.engine.job import LinkTraffic
from burnin.sim.bench import SimulatedBench
from tests.sim.machines import (
    bench_of,
    differing,
    load,
    snapshot,
    with_causes,
    work,
)

CARD, PORT = "0000:01:00.0", "0000:00:01.0"
CONFIGS = {f"{CARD}/config", f"{PORT}/config"}
SPEEDS = {f"{end}/current_link_speed" for end in (CARD, PORT)}
WIDTHS = {f"{end}/current_link_width" for end in (CARD, PORT)}
CARD_COUNTS, PORT_COUNTS = f"{CARD}/aer_dev_correctable", f"{PORT}/aer_dev_correctable"
ROOT_COUNTS = f"{PORT}/aer_rootport_total_err_cor"
COUNTS = {CARD_COUNTS, PORT_COUNTS, ROOT_COUNTS}
HOT = {f"hwmon0/temp{n}_input" for n in (1, 2, 3)}
HEAT = HOT | {
    "hwmon0/power1_average", "hwmon0/energy1_input", "hwmon0/freq1_input", "hwmon0/pwm1",
    "hwmon0/fan1_input", "throttle/status", "throttle/reason_pl1", "throttle/reason_thermal",
}  # fmt: skip


def rest(bench: SimulatedBench) -> None:
    bench.clock.sleep_s(5.0)


def copy(bench: SimulatedBench) -> None:
    work(bench, LinkTraffic(20.0))


def heat(bench: SimulatedBench) -> None:
    load(bench, 40.0)


def contact(name: str, **more: object) -> dict[str, Any]:
    return {"kind": "contact", "contact": name, "state": "open"} | more


def sensor(name: str, **more: object) -> dict[str, Any]:
    return {"kind": "sensor", "sensor": name} | more


MARGINAL = {"state": "resistive", "ohms": 62.0}


@pytest.mark.parametrize(
    ("base", "cause", "act", "must", "may"),
    [
        ("healthy", contact("B54"), rest, WIDTHS | CONFIGS, set()),
        ("healthy", contact("A56"), rest, WIDTHS | CONFIGS, set()),
        ("healthy", contact("B54", state="short_to_ground"), rest, WIDTHS | CONFIGS, set()),
        ("healthy", contact("B54", after_s=3600.0), rest, set(), set()),
        ("healthy", contact("B54", above_board_c=80.0), rest, set(), set()),
        ("healthy", contact("B9"), heat, set(), set()),
        ("healthy", contact("A1"), rest, set(), set()),
        (
            "healthy", contact("B27", state="resistive", ohms=120.0), copy,
            SPEEDS | CONFIGS, COUNTS,
        ),
        # Errors count at the end that sees them; the other end sees its timers at most.
        (
            "healthy", contact("B27", **MARGINAL), copy,
            {CARD_COUNTS, f"{CARD}/config", ROOT_COUNTS}, {PORT_COUNTS, f"{PORT}/config"} | SPEEDS,
        ),
        (
            "healthy", contact("A29", **MARGINAL), copy,
            {PORT_COUNTS, f"{PORT}/config", ROOT_COUNTS}, {CARD_COUNTS, f"{CARD}/config"} | SPEEDS,
        ),
        (
            "healthy", {"kind": "memory_line", "chip": 3, "bit": 7, "stuck_at": 1}, heat,
            set(), set(),
        ),
        ("healthy", {"kind": "memory_chip", "chip": 2}, heat, set(), set()),
        (
            "healthy", {"kind": "coupling_capacitor", "lane": 9, "leg": "n", "state": "open"}, rest,
            WIDTHS | CONFIGS, set(),
        ),
        ("plugged", {"kind": "power_plug", "plug": 0, "contact": "1", "state": "open"}, heat,
         set(), set()),
        ("plugged", {"kind": "power_plug", "plug": 0, "contact": "S4", "state": "open"}, heat,
         {"hwmon0/power1_cap", "hwmon0/power1_average"}, HEAT | {"hwmon0/temp3_input"}),
        ("healthy", {"kind": "compute", "bit": 3, "one_in": 1e6}, heat, set(), set()),
        ("healthy", {"kind": "fan", "state": "stalled"}, rest, set(), set()),
        ("healthy", {"kind": "fan", "state": "stalled"}, heat, {"hwmon0/fan1_input"}, HEAT),
        (
            "healthy", {"kind": "fan", "state": "worn", "speed_factor": 0.6}, heat,
            {"hwmon0/fan1_input"}, HEAT,
        ),
        ("healthy", {"kind": "mount", "resistance_factor": 2.0}, heat, HOT - {
            "hwmon0/temp3_input"}, HEAT),
        ("healthy", {"kind": "paste", "hotspot_factor": 3.0}, heat, {"hwmon0/temp2_input"}, set()),
        ("healthy_compute", {"kind": "airflow", "resistance_factor": 3.0}, heat, HOT, HEAT),
        ("healthy_loop", {"kind": "coolant", "state": "absent"}, heat, HOT, HEAT),
        (
            "healthy_loop", {"kind": "coolant", "state": "flow_stops", "after_load_s": 10.0}, heat,
            HOT, HEAT,
        ),
        (
            "healthy",
            {"kind": "output", "output": "DP-2", "contact": "hot_plug_detect", "state": "open"},
            rest,
            {f"card0-DP-2/{name}" for name in ("status", "enabled", "dpms", "edid", "modes")},
            set(),
        ),
        (
            "healthy", {"kind": "output", "output": "DP-2", "contact": "ddc", "state": "open"},
            rest,
            {"card0-DP-2/edid", "card0-DP-2/modes", "card0-DP-2/enabled", "card0-DP-2/dpms"},
            set(),
        ),
        (
            "healthy", {"kind": "output", "output": "HDMI-A-1", "contact": "ddc", "state": "open"},
            rest, {"card0-HDMI-A-1/edid", "card0-HDMI-A-1/modes"}, set(),
        ),
        (
            "healthy",
            {"kind": "output", "output": "DP-2", "contact": "main_lane_0", "state": "open"}, rest,
            {"card0-DP-2/modes", "card0-DP-2/enabled", "card0-DP-2/dpms"}, set(),
        ),
        (
            "healthy", {"kind": "output", "output": "HDMI-A-1", "flip_edid_bytes": [9, 200]},
            rest, {"card0-HDMI-A-1/edid"}, set(),
        ),
        (
            "healthy", {"kind": "firmware", "device_id": 0x1234}, rest,
            {f"{CARD}/device", f"{CARD}/config"}, set(),
        ),
        (
            "healthy", {"kind": "firmware", "subsystem_id": 0x77, "version": "X1"}, rest,
            {f"{CARD}/subsystem_device", f"{CARD}/vbios_version", f"{CARD}/config"}, set(),
        ),
        ("healthy", sensor("die", state="biased", bias=7.0), rest, {"hwmon0/temp1_input"}, set()),
        ("healthy", sensor("memory", state="stuck"), heat, {"hwmon0/temp3_input"}, set()),
        ("healthy", sensor("die", state="slow", lag_s=60.0), heat, {"hwmon0/temp1_input"}, set()),
        ("healthy", sensor("die", state="noisy", noise=9.0), rest, {"hwmon0/temp1_input"}, HOT | {
            "hwmon0/power1_average", "hwmon0/fan1_input"}),
        ("healthy", sensor("hotspot", state="unreadable"), rest, {"hwmon0/temp2_input"}, set()),
        ("healthy", sensor("power", state="stuck", value=9.0), rest, {"hwmon0/power1_average"},
         set()),
        ("healthy", sensor("fan", state="unreadable"), rest, {"hwmon0/fan1_input"}, set()),
        ("healthy", sensor("power", state="stuck", value=math.nan), rest,
         {"hwmon0/power1_average"}, set()),
        ("healthy", sensor("memory", state="stuck", value=2.0**31), rest,
         {"hwmon0/temp3_input"}, set()),
        ("healthy", sensor("energy", state="stuck"), rest, {"hwmon0/energy1_input"}, set()),
        ("healthy", {"kind": "counter", "counter": "energy", "state": "restarts", "after_s": 121.0},
         rest, {"hwmon0/energy1_input"}, set()),
        ("healthy", {"kind": "counter", "counter": "energy", "state": "wraps", "bits": 20},
         rest, {"hwmon0/energy1_input"}, set()),
    ],
)  # fmt: skip
def test_a_cause_shows_where_it_should_and_nowhere_else(
    base: str, cause: dict[str, Any], act: Any, must: set[str], may: set[str]
) -> None:
    sound, faulty = bench_of(with_causes(base)), bench_of(with_causes(base, cause))
    act(sound)
    act(faulty)
    found = differing(snapshot(sound.files), snapshot(faulty.files))
    assert found >= must
    assert found <= must | may


def test_every_kind_of_cause_is_in_the_table() -> None:
    from burnin.sim.causes.kinds import AnyCause

    union, _ = get_args(AnyCause)
    kinds = {get_args(part.model_fields["kind"].annotation)[0] for part in get_args(union)}
    (mark,) = getattr(test_a_cause_shows_where_it_should_and_nowhere_else, "pytestmark")  # noqa: B009
    listed = {cause["kind"] for _, cause, *_ in mark.args[1]}
    # those have tests of their own
    assert kinds - listed == {"bus", "driver", "memory_cell", "rail", "supply_joint"}


@pytest.mark.parametrize("name", ["A11", "A13", "A14"])
def test_without_reset_or_clock_no_card_enumerates(name: str) -> None:
    bench = bench_of(with_causes("healthy", contact(name)))
    assert bench.files.list_folder("/sys/bus/pci/devices") == [PORT]
    assert bench.files.read_bytes(f"/sys/bus/pci/devices/{PORT}/current_link_width") == b"0\n"


@pytest.mark.parametrize("name", ["A1", "B81"])
def test_presence_matters_only_to_a_slot_that_is_switched_by_it(name: str) -> None:
    heeded = bench_of(with_causes("healthy", contact(name), needs_presence=True))
    assert CARD not in heeded.files.list_folder("/sys/bus/pci/devices")
    other = bench_of(with_causes("healthy", contact("B48"), needs_presence=True))
    assert CARD in other.files.list_folder("/sys/bus/pci/devices")


def test_lane_zero_leaves_no_link_unless_the_port_turns_the_lanes_round() -> None:
    lost = bench_of(with_causes("healthy", contact("B14")))
    assert CARD not in lost.files.list_folder("/sys/bus/pci/devices")
    turned = bench_of(with_causes("healthy", contact("B14"), lane_reversal=True))
    width = turned.files.read_bytes(f"/sys/bus/pci/devices/{CARD}/current_link_width")
    assert width == b"8\n"


def test_a_contact_that_opens_later_narrows_the_running_link() -> None:
    bench = bench_of(with_causes("healthy", contact("A56", after_s=125.0)))
    path = f"/sys/bus/pci/devices/{CARD}/current_link_width"
    before = bench.files.read_bytes(path)
    bench.clock.sleep_s(10.0)
    assert (before, bench.files.read_bytes(path)) == (b"16\n", b"8\n")


def test_a_marginal_contact_counts_at_the_seeing_end_far_more_than_at_the_other() -> None:
    for name, seeing, other in (("B27", "card", "port"), ("A29", "port", "card")):
        bench = bench_of(with_causes("healthy", contact(name, **MARGINAL)))
        copy(bench)
        ends = bench.machine.link.ends
        assert ends[seeing].correctable["BadTLP"] > 5
        assert ends[other].correctable["BadTLP"] == 0
        assert (ends[seeing].lane_bits, ends[other].lane_bits) == (1 << 3, 0)


