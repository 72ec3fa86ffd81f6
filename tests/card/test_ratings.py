"""What a card was made for: the kernel's files, NVML, and the memory's formula.

File names: Linux Documentation/gpu/amdgpu/thermal.rst and
Documentation/ABI/testing/sysfs-driver-intel-xe-hwmon.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from burnin.card.sources.linux_card import LinuxCard
from burnin.core.ratings import OwnRatings
from burnin.core.reading import NotMeasured
from tests.card.sysfs_tree import CARD, SysfsTree, corvane_bench

FOLDER = f"/sys/bus/pci/devices/{CARD}"


@pytest.fixture
def tree(tmp_path: Path) -> SysfsTree:
    return corvane_bench(tmp_path)


def ratings(tree: SysfsTree) -> OwnRatings:
    return LinuxCard(tree.files, CARD).ratings()


def hwmon(tree: SysfsTree, **files: str) -> None:
    for name, text in files.items():
        tree.write(f"{FOLDER}/hwmon/hwmon3/{name}", text)


def test_the_default_is_the_cards_own_and_the_cap_what_is_in_force(tree: SysfsTree) -> None:
    hwmon(tree, power1_cap_default="300000000", power1_cap="250000000", power1_cap_max="345000000")
    found = ratings(tree)
    assert (found.own_power_limit_w, found.set_power_limit_w) == (300.0, 250.0)


def test_where_no_default_is_told_the_most_that_may_be_set_is(tree: SysfsTree) -> None:
    hwmon(tree, power1_cap="250000000", power1_cap_max="345000000")
    assert ratings(tree).own_power_limit_w == 345.0


def test_other_drivers_name_them_otherwise(tree: SysfsTree) -> None:
    hwmon(tree, power1_rated_max="190000000", power1_max="150000000")
    found = ratings(tree)
    assert (found.own_power_limit_w, found.set_power_limit_w) == (190.0, 150.0)


@pytest.mark.parametrize("text", ["0", "", "none", "-5"])
def test_a_limit_that_is_none_is_not_measured(tree: SysfsTree, text: str) -> None:
    hwmon(tree, power1_cap_default=text)
    assert isinstance(ratings(tree).own_power_limit_w, NotMeasured)


def test_the_highest_level_is_the_highest_clock(tree: SysfsTree) -> None:
    tree.write(f"{FOLDER}/pp_dpm_sclk", "0: 500Mhz \n1: 2304Mhz *\n2: 2581Mhz \n")
    tree.write(f"{FOLDER}/pp_dpm_mclk", "0: 96Mhz *\n1: 1249Mhz")
    found = ratings(tree)
    assert (found.most_core_clock_mhz, found.most_memory_clock_mhz) == (2581.0, 1249.0)
    tree.write(f"{FOLDER}/pp_dpm_mclk", "nothing of the kind")
    assert isinstance(ratings(tree).most_memory_clock_mhz, NotMeasured)


def test_what_a_memory_carries() -> None:
    # CUDA C++ Best Practices Guide, theoretical bandwidth: (0.877e9 · (4096/8) · 2)/1e9 = 898 GB/s.
    found = OwnRatings(memory_bus_bits=4096.0, memory_per_clock=2.0)
    assert found.memory_peak_gbs(877.0) == pytest.approx(898.0, abs=0.5)
    assert OwnRatings().memory_peak_gbs(877.0) is None
