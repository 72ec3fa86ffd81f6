"""Several readers, one card: the better value is taken, and where it came from is told."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import pytest

from burnin.card.capabilities import Card
from burnin.card.meanings import CardReason, CardSource
from burnin.card.merge import open_bench
from burnin.card.merged_card import MergedCard
from burnin.card.source import CardPlace, Reader
from burnin.card.sources import nvml
from burnin.card.sources.linux_card import LinuxCard
from burnin.card.sources.meanings import LinuxSourceOf, NvmlReason, NvmlSourceOf
from burnin.card.sources.nvml_card import NvmlCard
from burnin.card.sources.nvml_library import open_library
from burnin.core.reading import NotMeasured
from burnin.core.sample import TELEMETRY_NAMES
from tests.card.nvml_recorded import GPU_IS_LOST, RecordedNvml
from tests.card.sysfs_tree import HWMON, SysfsTree, corvane_bench

ADDRESS = "0000:00:06.0"


@pytest.fixture
def library() -> RecordedNvml:
    return RecordedNvml()


@pytest.fixture
def tree(tmp_path: Path, data: Path) -> SysfsTree:
    """The recorded card's own bench: a virtual machine without port, hwmon, DRM or AER."""
    tree = SysfsTree(tmp_path)
    tree.function(
        ADDRESS,
        vendor="0x10de",
        device="0x2330",
        config=(data / "config_space.bin").read_bytes(),
        max_link_width="16",
        max_link_speed="32.0 GT/s PCIe",
        current_link_width="8",
        **{"class": "0x030200"},
    )
    return tree


def both(tree: SysfsTree, library: RecordedNvml) -> MergedCard:
    place = CardPlace(tree.files, ADDRESS, 0x10DE, this_machine=True)
    readers: dict[str, Reader] = {
        "linux": LinuxCard(tree.files, ADDRESS),
        "nvml": NvmlCard(library, "handle"),
    }
    return MergedCard(place, readers)


@pytest.fixture
def card(tree: SysfsTree, library: RecordedNvml) -> MergedCard:
    return both(tree, library)


def test_nvml_names_the_card_and_sysfs_its_numbers(card: MergedCard) -> None:
    identity = card.identity()
    assert (identity.vendor_id, identity.device_id) == (0x10DE, 0x2330)
    assert identity.subsystem_id == 0x16C1
    assert identity.name == "NVIDIA H100 80GB HBM3"
    assert identity.memory_bytes == 85520809984
    assert identity.firmware_version == "96.00.DA.00.0C"
    assert identity.serial == "0000000000000"


def test_a_value_that_nvml_lacks_is_sysfs_own(
    tree: SysfsTree, library: RecordedNvml, card: MergedCard
) -> None:
    assert isinstance(card.telemetry().hotspot_temp_c, NotMeasured)
    tree.hwmon(f"/sys/devices/pci0000:00/{ADDRESS}", 0, **HWMON)
    told = card.telemetry()
    assert told.hotspot_temp_c == 67.5
    assert told.gpu_temp_c == 34.0
    del library.answers[("nvmlDeviceGetSerial",)]
    again = both(tree, library)
    assert again.identity().serial == "08-07-06-05-04-03-02-01"


def test_reasons_of_nvml_stand_where_neither_measures(card: MergedCard) -> None:
    hotspot = card.telemetry().hotspot_temp_c
    assert isinstance(hotspot, NotMeasured)
    assert hotspot.reason == NvmlReason.NO_HOTSPOT()


def test_the_link_tells_which_reader_said_what(card: MergedCard) -> None:
    link = card.link()
    assert link.card.width_lanes == 16
    assert link.card.max_width_lanes == 16
    assert link.card.source == CardSource.NOW_AND_AT_MOST(
        now=NvmlSourceOf.NVML(), at_most=LinuxSourceOf.LINK_ATTRIBUTES(address=ADDRESS)
    )
    assert isinstance(link.port, NotMeasured)


def test_counters_of_both_readers_are_kept(tree: SysfsTree, card: MergedCard) -> None:
    counters = card.error_counters()
    assert not isinstance(counters, NotMeasured)
    assert all(counter.source.means(NvmlSourceOf.FIELD) for counter in counters)
    tree.write(f"/sys/devices/pci0000:00/{ADDRESS}/aer_dev_correctable", "RxErr 5")
    all_of_them = card.error_counters()
    assert not isinstance(all_of_them, NotMeasured)
    assert len(all_of_them) == len(counters) + 1
    assert len({(counter.end, counter.name) for counter in all_of_them}) == len(all_of_them)


def test_a_card_lost_to_either_reader_is_gone(
    tree: SysfsTree, library: RecordedNvml, card: MergedCard
) -> None:
    assert card.present()
    library.fail_with = GPU_IS_LOST
    assert not card.present()
    library.fail_with = 0
    fresh = both(tree, library)
    assert fresh.present()
    tree.write(f"/sys/devices/pci0000:00/{ADDRESS}/config", b"\xff" * 4096)
    assert not fresh.present()


def test_a_compute_card_has_no_outputs_fitted(card: MergedCard) -> None:
    assert card.outputs() == ()


def test_without_nvml_everything_is_sysfs_own(tree: SysfsTree) -> None:
    linux = LinuxCard(tree.files, ADDRESS)
    why = NotMeasured(NvmlReason.NO_PACKAGE())
    place = CardPlace(tree.files, ADDRESS, 0x10DE)
    card: Card = MergedCard(place, {"linux": linux}, {"nvml": why})
    told, own = card.identity(), linux.identity()
    assert told == replace(own, uuid=told.uuid)
    assert told.uuid == NotMeasured(
        CardReason.NOT_OFFERED_BECAUSE(
            value="uuid", sources=("linux", "nvml"), reasons=(NvmlReason.NO_PACKAGE(),)
        )
    )
    assert card.telemetry() == linux.telemetry()
    assert card.link() == linux.link()
    assert card.present()
    assert card.temperature_limits() == linux.temperature_limits()
    assert card.resolution() == linux.resolution()
    assert card.sources() == linux.sources()


def test_each_value_has_its_source(tree: SysfsTree, card: MergedCard) -> None:
    tree.hwmon(f"/sys/devices/pci0000:00/{ADDRESS}", 0, **HWMON)
    sources = card.sources()
    assert sources["gpu_temp_c"] == NvmlSourceOf.NVML()
    assert sources["hotspot_temp_c"] == LinuxSourceOf.HWMON()
    assert sources["device_id"] == LinuxSourceOf.ATTRIBUTES()
    assert sources["name"] == NvmlSourceOf.NVML()
    assert "fan_rpm" in sources, "NVML says that the card drives none, and hwmon reads one"
    telemetry = card.telemetry()
    for name in TELEMETRY_NAMES:
        measured = not isinstance(getattr(telemetry, name), NotMeasured)
        assert measured == (name in sources), name


def test_steps_are_those_of_the_reader_that_measures(
    tree: SysfsTree, library: RecordedNvml, card: MergedCard
) -> None:
    assert card.resolution().power_w == 1e-3
    tree.hwmon(f"/sys/devices/pci0000:00/{ADDRESS}", 0, **HWMON)
    library.fields.clear()
    del library.answers[("nvmlDeviceGetPowerUsage",)]
    steps = both(tree, library).resolution()
    assert steps.power_w == 1.0
    assert steps.sources["power_w"] == LinuxSourceOf.WHOLE_WATTS()
    assert steps.sources["temp_c"] == NvmlSourceOf.WHOLE_DEGREES()


def test_a_missing_package_is_a_reason_not_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pynvml", None)
    assert open_library() == NotMeasured(NvmlReason.NO_PACKAGE())


def test_the_bench_says_why_nvml_is_not_used(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "pynvml", None)
    bench = open_bench(corvane_bench(tmp_path).files, this_machine=True)
    assert bench.description()["nvml"] == NotMeasured(NvmlReason.NO_PACKAGE())
    (card,) = bench.cards()
    assert isinstance(card, MergedCard)
    assert card.identity().driver == "corvane"
    assert card.left_out == {"nvml": NotMeasured(NvmlReason.OTHER_VENDOR())}


def test_files_of_another_machine_are_never_read_beside_nvml(
    tree: SysfsTree, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(nvml, "open_library", lambda: pytest.fail("asked"))
    bench = open_bench(tree.files, this_machine=False)
    (card,) = bench.cards()
    assert isinstance(card, MergedCard)
    assert card.left_out == {"nvml": NotMeasured(NvmlReason.OTHER_MACHINE())}
    assert "nvml" not in bench.description()
