"""Memory faults by cell, line, chip and warmth; outputs that bounce or stay dark; a hung driver;
sensors that are slow or noisy."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.card.file_errors import FileReason
from burnin.card.sources.linux_card import LinuxBench
from burnin.core.reading import NotMeasured
from burnin.engine.device.patterns import passes, word
from burnin.engine.job import ArithmeticLoad, MemoryResult, MemoryTest, Progress
from burnin.sim.bench import SimulatedBench
from burnin.sim.physics.memory import Memory
from tests.sim.machines import bench_of, load, run_for, with_causes, work

words = st.integers(0, 0xFFFF_FFFF)


def memory(**cause: Any) -> Memory:
    return Memory(with_causes("healthy", cause))


@given(written=words)
def test_a_cell_that_follows_another_bit(written: int) -> None:
    coupled = memory(kind="memory_cell", address=0x1000, bit=3, follows_bit=9)
    got = coupled.read_back(0x1000, written, 40.0)
    assert got >> 3 & 1 == written >> 9 & 1
    assert (got ^ written) & ~(1 << 3) == 0
    assert coupled.read_back(0x1004, written, 40.0) == written


@given(written=words, rests_at=st.integers(0, 1), address=st.integers(0, 1 << 20))
def test_a_silent_chip_reads_as_the_bus_rests(written: int, rests_at: int, address: int) -> None:
    silent = memory(kind="memory_chip", chip=5, rests_at=rests_at)
    got = silent.read_back(4 * address, written, 40.0)
    rest = 0xFFFF_FFFF if rests_at else 0
    assert got == (rest if silent.chip_of(4 * address) == 5 else written)


@pytest.mark.parametrize(
    "cause",
    [
        {"kind": "memory_cell", "address": 0x1000, "bit": 3, "stuck_at": 1},
        {"kind": "memory_line", "chip": 4, "bit": 3, "stuck_at": 1},
        {"kind": "memory_chip", "chip": 4},
    ],
)
def test_a_fault_that_comes_with_warmth_is_not_there_in_the_cold(cause: dict[str, Any]) -> None:
    warm = memory(above_memory_c=70.0, **cause)
    touched = [a for a in (0x1000, 0x400) if warm.read_back(a, 0, 80.0)]
    assert touched
    assert not any(warm.read_back(address, 0, 69.0) for address in touched)


def test_a_silent_chip_fails_its_share_of_the_words() -> None:
    bench = bench_of(with_causes("healthy", {"kind": "memory_chip", "chip": 2}))
    result = work(bench, MemoryTest(share=0.5, patterns=("solid",), passes=1))[-1]
    assert isinstance(result, MemoryResult)
    # The silent chip, one of twelve, reads ones: every check of a zero fails on its words.
    checks = sum(p.expect >= 0 and word("solid", p.expect, 0, 0) == 0 for p in passes("solid"))
    assert result.failing_words == pytest.approx(checks * result.tested_bytes / 4 / 12, rel=0.02)


def outputs(bench: SimulatedBench) -> dict[str, str]:
    (card,) = LinuxBench(bench.files).linux_cards()
    found = card.outputs()
    assert not isinstance(found, NotMeasured)
    return {output.name: str(output.status) for output in found}


def test_hot_plug_that_bounces_comes_and_goes_at_its_output_alone() -> None:
    cause = {
        "kind": "output", "output": "DP-2", "contact": "hot_plug_detect", "state": "open",
        "every_s": 4.0, "for_s": 1.0,
    }  # fmt: skip
    bench = bench_of(with_causes("healthy", cause))
    seen: dict[str, set[str]] = {}
    for _ in range(40):
        for name, status in outputs(bench).items():
            seen.setdefault(name, set()).add(status)
        bench.clock.sleep_s(0.1)
    assert seen.pop("DP-2") == {"connected", "disconnected"}
    assert all(status == {"connected"} for status in seen.values())


@pytest.mark.parametrize(("lane", "trained"), [(0, 0), (1, 1), (2, 2), (3, 2)])
def test_picture_lanes_train_from_lane_0_on(lane: int, trained: int) -> None:
    # VESA DisplayPort 1.4 (second hand): a link has 1, 2 or 4 lanes from lane 0 on.
    cause = {
        "kind": "output", "output": "DP-1", "contact": f"main_lane_{lane}", "state": "open"
    }
    bench = bench_of(with_causes("healthy", cause))
    state = bench.machine.outputs[0].at(1.0)
    assert (state.connected, state.lanes, bool(state.edid)) == (True, trained, True)
    path = "/sys/class/drm/card0-DP-1/enabled"
    assert bench.files.read_bytes(path) == (b"enabled\n" if trained else b"disabled\n")


def test_a_driver_that_hangs_answers_no_more_and_its_work_stands_still() -> None:
    cause = {"kind": "driver", "state": "hangs", "after_load_s": 5.0}
    bench = bench_of(with_causes("healthy", cause))
    (card,) = LinuxBench(bench.files).linux_cards()
    bench.engine.begin(ArithmeticLoad(1.0))
    events = run_for(bench, 4.0)
    assert not isinstance(card.telemetry().gpu_temp_c, NotMeasured)
    run_for(bench, 2.0)
    assert card.present()
    unread = card.telemetry().gpu_temp_c
    assert isinstance(unread, NotMeasured)
    assert unread.reason == FileReason.NO_ANSWER_IN_TIME(name="temp1_input")
    later = run_for(bench, 5.0)
    done = [e.done for e in events if isinstance(e, Progress)]
    assert done[-1] > 0.0
    assert not [e for e in later if isinstance(e, Progress)]
    assert bench.machine.heat.total_w < 100.0


def test_a_slow_sensor_follows_late() -> None:
    cause = {"kind": "sensor", "sensor": "die", "state": "slow", "lag_s": 60.0}
    sound, slow = bench_of(with_causes("healthy")), bench_of(with_causes("healthy", cause))
    for bench in (sound, slow):
        load(bench, 20.0)
    quick, late = sound.machine.sensors.read("die"), slow.machine.sensors.read("die")
    assert quick is not None
    assert late is not None
    assert late < quick - 10.0
    run_for(slow, 400.0)
    assert slow.machine.sensors.read("die") == pytest.approx(slow.machine.network.at("die"), abs=3)


def test_a_noisy_sensor_scatters_as_much_as_it_says() -> None:
    cause = {"kind": "sensor", "sensor": "memory", "state": "noisy", "noise": 6.0}
    bench = bench_of(with_causes("healthy", cause))
    values: list[float] = []
    for _ in range(300):
        bench.clock.sleep_s(0.1)
        value = bench.machine.sensors.read("memory")
        assert value is not None
        values.append(value)
    mean = sum(values) / len(values)
    spread = (sum((v - mean) ** 2 for v in values) / len(values)) ** 0.5
    assert spread == pytest.approx(6.0, rel=0.2)
