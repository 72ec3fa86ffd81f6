"""Two readers, one card: the better value is taken, and where it came from is told."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from burnin.card.card import Card
from burnin.card.combined import CombinedCard, open_bench
from burnin.card.sources import nvml
from burnin.card.sources.linux_card import LinuxBench, LinuxCard
from burnin.card.sources.nvml import NvmlCard, open_library
from burnin.core.reading import NotMeasured
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


@pytest.fixture
def card(tree: SysfsTree, library: RecordedNvml) -> CombinedCard:
    return CombinedCard(LinuxCard(tree.files, ADDRESS), NvmlCard(library, "handle"))


def test_nvml_names_the_card_and_sysfs_its_numbers(card: CombinedCard) -> None:
    identity = card.identity()
    assert (identity.vendor_id, identity.device_id) == (0x10DE, 0x2330)
    assert identity.subsystem_id == 0x16C1
    assert identity.name == "NVIDIA H100 80GB HBM3"
    assert identity.memory_bytes == 85520809984
    assert identity.firmware_version == "96.00.DA.00.0C"
    assert identity.serial == "0000000000000"


def test_a_value_that_nvml_lacks_is_sysfs_own(
    tree: SysfsTree, library: RecordedNvml, card: CombinedCard
) -> None:
    assert isinstance(card.telemetry().hotspot_temp_c, NotMeasured)
    tree.hwmon(f"/sys/devices/pci0000:00/{ADDRESS}", 0, **HWMON)
    told = card.telemetry()
    assert told.hotspot_temp_c == 67.5
    assert told.gpu_temp_c == 34.0
    del library.answers[("nvmlDeviceGetSerial",)]
    again = CombinedCard(LinuxCard(tree.files, ADDRESS), NvmlCard(library, "handle"))
    assert again.identity().serial == "08-07-06-05-04-03-02-01"


def test_reasons_of_nvml_stand_where_neither_measures(card: CombinedCard) -> None:
    hotspot = card.telemetry().hotspot_temp_c
    assert isinstance(hotspot, NotMeasured)
    assert "NVML" in hotspot.reason


def test_the_link_tells_which_reader_said_what(card: CombinedCard) -> None:
    link = card.link()
    assert link.card.width_lanes == 16
    assert link.card.max_width_lanes == 16
    assert link.card.source == f"now: NVML; at most: sysfs link attributes of {ADDRESS}"
    assert isinstance(link.port, NotMeasured)


def test_counters_of_both_readers_are_kept(tree: SysfsTree, card: CombinedCard) -> None:
    counters = card.error_counters()
    assert not isinstance(counters, NotMeasured)
    assert all(counter.source.startswith("NVML field") for counter in counters)
    tree.write(f"/sys/devices/pci0000:00/{ADDRESS}/aer_dev_correctable", "RxErr 5")
    both = card.error_counters()
    assert not isinstance(both, NotMeasured)
    assert len(both) == len(counters) + 1
    assert len({(counter.end, counter.name) for counter in both}) == len(both)


def test_a_card_lost_to_either_reader_is_gone(
    tree: SysfsTree, library: RecordedNvml, card: CombinedCard
) -> None:
    assert card.present()
    library.fail_with = GPU_IS_LOST
    assert not card.present()
    library.fail_with = 0
    fresh = CombinedCard(LinuxCard(tree.files, ADDRESS), NvmlCard(library, "handle"))
    assert fresh.present()
    tree.write(f"/sys/devices/pci0000:00/{ADDRESS}/config", b"\xff" * 4096)
    assert not fresh.present()


def test_a_compute_card_has_no_outputs_fitted(card: CombinedCard) -> None:
    assert card.outputs() == ()


def test_without_nvml_everything_is_sysfs_own(tree: SysfsTree) -> None:
    linux = LinuxCard(tree.files, ADDRESS)
    card: Card = CombinedCard(linux, NotMeasured("no library"))
    assert card.identity() == linux.identity()
    assert card.telemetry() == linux.telemetry()
    assert card.link() == linux.link()
    assert card.present()
    assert card.temperature_limits() == linux.temperature_limits()
    assert card.resolution() == linux.resolution()


def test_a_missing_package_is_a_reason_not_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pynvml", None)
    library = open_library()
    assert isinstance(library, NotMeasured)
    assert "nvidia-ml-py is not installed" in library.reason


def test_the_bench_says_why_nvml_is_not_used(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "pynvml", None)
    bench = open_bench(corvane_bench(tmp_path).files, with_nvml=True)
    assert "not used: the Python package" in bench.description()["nvml"]
    (card,) = bench.cards()
    assert isinstance(card, CombinedCard)
    assert card.identity().driver == "corvane"
    assert card.nvml == NotMeasured("NVML serves cards of NVIDIA alone")


def test_a_bench_without_nvml_never_imports_it(
    tree: SysfsTree, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(nvml, "open_library", lambda: pytest.fail("asked"))
    bench = open_bench(tree.files, with_nvml=False)
    assert isinstance(bench, LinuxBench)
    assert "nvml" not in bench.description()
