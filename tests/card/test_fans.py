"""Every fan of a card has its own speed and setting; one that nobody can read is counted."""

from __future__ import annotations

from pathlib import Path

from burnin.card.sources.linux_card import LinuxCard
from burnin.card.sources.meanings import LinuxReason, NvmlReason
from burnin.card.sources.nvml_card import NvmlCard
from burnin.card.sources.nvml_errors import NvmlError
from burnin.card.sources.nvml_library import open_handle
from burnin.core.reading import NotMeasured, Verdict
from burnin.core.sample import Sample, Telemetry
from burnin.sim.bench import simulated_bench
from burnin.stages.thermal_ramp.fan_readings import fan_readings
from burnin.stages.thermal_ramp.meanings import ThermalRampReason
from burnin.stages.thermal_ramp.ramp_trace import RampTrace
from tests.card.nvml_recorded import RecordedNvml
from tests.card.sysfs_tree import SysfsTree
from tests.sim.machines import load

CARD = "0000:03:00.0"
NO_SENSOR = NotMeasured(LinuxReason.NO_SUCH_SENSOR())


def test_all_fans_of_hwmon_are_read_and_counted(tmp_path: Path) -> None:
    tree = SysfsTree(tmp_path)
    folder = tree.function(CARD, vendor="0xf5a7", device="0x0901", **{"class": "0x030000"})
    tree.hwmon(
        folder, 1, name="corvane", fan1_input="900", pwm1="51", fan2_input="0", pwm2="102",
        pwm2_max="204", pwm3="255",
    )  # fmt: skip
    card = LinuxCard(tree.files, CARD)
    told = card.telemetry()
    assert (told.fan_rpm, told.fan_pct) == (900.0, 20.0)
    assert (told.fan2_rpm, told.fan2_pct) == (0.0, 50.0)
    assert (told.fan3_rpm, told.fan3_pct) == (NO_SENSOR, 100.0)
    assert (told.fan4_rpm, card.fan_count()) == (NO_SENSOR, 3)


def test_nvml_is_asked_for_each_fan_by_its_number() -> None:
    library = RecordedNvml()
    library.answers |= {
        ("nvmlDeviceGetNumFans",): 2,
        ("nvmlDeviceGetFanSpeed_v2", 0): 40,
        ("nvmlDeviceGetFanSpeed_v2", 1): 45,
        ("nvmlDeviceGetFanSpeedRPM",): 1200,
    }
    card = NvmlCard(library, open_handle(library, "0000:00:06.0"))
    told = card.telemetry()
    assert (told.fan_rpm, told.fan_pct, told.fan2_pct) == (1200.0, 40.0, 45.0)
    assert told.fan2_rpm == NotMeasured(
        NvmlReason.PACKAGE_LACKS(function="nvmlDeviceGetFanSpeedRPM")
    )
    assert told.fan3_pct == NotMeasured(NvmlReason.NO_SUCH_FAN(fans_count=2))
    assert card.read(("fan_count",)) == {"fan_count": 2}


def test_an_older_driver_tells_the_first_fan_by_another_name() -> None:
    library = RecordedNvml()
    library.answers |= {("nvmlDeviceGetNumFans",): 1, ("nvmlDeviceGetFanSpeed",): 33}
    told = NvmlCard(library, open_handle(library, "0000:00:06.0")).telemetry()
    assert told.fan_pct == 33.0
    assert told.fan_rpm == NotMeasured(NvmlError.NOT_SUPPORTED())


def traced(**told: float | NotMeasured) -> RampTrace:
    trace = RampTrace()
    trace.begin_step()
    for n in range(200):
        trace.add(Sample(0.1 * n, "", "x", Telemetry(**told), 1.0))  # type: ignore[arg-type]
    return trace


def test_one_fan_of_three_that_stands_fails_and_the_others_pass() -> None:
    trace = traced(fan_rpm=900.0, fan_pct=50.0, fan2_rpm=0.0, fan3_rpm=910.0, fan3_pct=50.0)
    found = {reading.name: reading for reading in fan_readings(trace, 3)}
    assert found["fan_count"].value == 3
    assert found["fan_stood_still_s"].verdict is Verdict.PASS
    assert found["fan_stood_still_s 3"].verdict is Verdict.PASS
    stands = found["fan_stood_still_s 2"]
    assert stands.verdict is Verdict.FAIL
    assert stands.reason is not None
    assert stands.reason.means(ThermalRampReason.FAN_OF_SEVERAL_STOOD)


def test_a_fan_that_is_counted_and_not_read_is_named_and_needed() -> None:
    trace = traced(fan_rpm=900.0, fan_pct=50.0, fan2_rpm=NO_SENSOR)
    *_, second = fan_readings(trace, 2)
    assert second.name == "fan_stood_still_s 2"
    assert second.verdict is Verdict.NOT_MEASURED
    assert second.required
    assert second.reason is not None
    assert second.reason["fan"] == 2


def test_the_simulated_machine_speaks_of_each_fan_through_the_same_files() -> None:
    bench = simulated_bench("one_fan_stands")
    load(bench, 60.0)
    card = LinuxCard(bench.files, "0000:01:00.0")
    told = card.telemetry()
    assert (told.fan2_rpm, card.fan_count()) == (0.0, 3)
    assert isinstance(told.fan_rpm, float)
    assert told.fan_rpm > 500.0
    assert told.fan2_pct == told.fan_pct
