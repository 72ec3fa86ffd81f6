"""Error counters that nobody moves are no zeros: the root port's service must take its messages."""

from __future__ import annotations

from pathlib import Path

import pytest

from burnin.card.sources.link import SERVICES
from burnin.card.sources.linux_card import LinuxCard
from burnin.card.sources.meanings import LinuxReason
from burnin.core.reading import NotMeasured
from tests.card.sysfs_tree import CARD, ROOT_PORT, SysfsTree, corvane_bench


@pytest.fixture
def tree(tmp_path: Path) -> SysfsTree:
    found = corvane_bench(tmp_path)
    found.write(f"/sys/bus/pci/devices/{CARD}/aer_dev_correctable", "RxErr 0\nTOTAL_ERR_COR 0")
    return found


def _bound(tree: SysfsTree, *services: str) -> None:
    for service in services:
        (tree.root / SERVICES.lstrip("/") / service).mkdir(parents=True)


def test_where_the_service_has_the_root_port_errors_are_counted(tree: SysfsTree) -> None:
    _bound(tree, f"aer/{ROOT_PORT}:pcie002", "pcie_pme")
    assert not isinstance(LinuxCard(tree.files, CARD).error_counters(), NotMeasured)


@pytest.mark.parametrize("services", [("pcie_pme",), ("aer/0000:00:1c.0:pcie002", "pcie_pme")])
def test_where_it_has_not_they_are_not_measured(
    tree: SysfsTree, services: tuple[str, ...]
) -> None:
    """As with ``pci=noaer``, and where the firmware keeps errors to itself."""
    _bound(tree, *services)
    told = LinuxCard(tree.files, CARD).error_counters()
    assert told == NotMeasured(LinuxReason.ERRORS_NOT_TAKEN(port=ROOT_PORT))


def test_where_nobody_shows_the_services_the_counters_are_believed(tree: SysfsTree) -> None:
    assert not isinstance(LinuxCard(tree.files, CARD).error_counters(), NotMeasured)
