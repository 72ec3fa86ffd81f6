"""The simulated kernel's log: what happens to driver and link stands in it, in Linux's words."""

from __future__ import annotations

from typing import Any

import pytest

from burnin.card.kernel_log.log import open_kernel_log
from burnin.card.kernel_log.patterns import meant
from burnin.core.reading import NotMeasured
from burnin.sim.bench import SimulatedBench
from tests.sim.machines import bench_of, load, with_causes


def said(bench: SimulatedBench, seconds: float) -> list[str]:
    """Codes of the lines that came while the card was loaded for so long."""
    log = open_kernel_log(bench.files, this_machine=False)
    assert not isinstance(log, NotMeasured)
    load(bench, seconds)
    records = log.read()
    assert [record.sequence for record in records] == sorted(
        {record.sequence for record in records if record.sequence is not None}
    )
    assert log.lost == 0
    return [found.what.code for r in records if (found := meant(r.text, "")) is not None]


@pytest.mark.parametrize(
    ("cause", "codes"),
    [
        ({"kind": "driver", "state": "hangs"}, ["kernel_work_timed_out"]),
        (
            {"kind": "driver", "state": "resets"},
            ["kernel_work_timed_out", *["kernel_driver_reset"] * 3],
        ),
        ({"kind": "driver", "state": "faults"}, ["kernel_gpu_fault"]),
        ({"kind": "bus", "state": "bounces"}, ["kernel_port_contained", "kernel_link_down"]),
        ({"kind": "bus", "state": "falls_off"}, ["kernel_bus_error"] * 2 + ["kernel_link_down"]),
    ],
)
def test_what_happens_is_said_once(cause: dict[str, Any], codes: list[str]) -> None:
    bench = bench_of(with_causes("healthy", cause | {"after_load_s": 3.0}))
    assert said(bench, 10.0) == codes
    assert bench.files.read_bytes("/dev/kmsg").count(b";") >= len(codes)


def test_a_sound_machine_s_kernel_is_silent() -> None:
    assert said(bench_of(with_causes("healthy")), 10.0) == []


def test_only_what_is_said_after_opening_is_told_but_the_file_holds_all() -> None:
    cause = {"kind": "driver", "state": "faults", "after_load_s": 1.0}
    bench = bench_of(with_causes("healthy", cause))
    load(bench, 5.0)
    bench.engine.stop()
    assert b"page fault" in bench.files.read_bytes("/dev/kmsg")
    assert said(bench, 2.0) == []


def test_nothing_else_is_a_file_of_records() -> None:
    bench = bench_of(with_causes("healthy"))
    with pytest.raises(OSError, match="seek"):
        bench.files.open_records("/proc/uptime")
