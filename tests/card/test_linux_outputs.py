"""Display outputs as the kernel shows them; none shown is not the same as none fitted."""

from __future__ import annotations

from pathlib import Path

import pytest

from burnin.card.capabilities import Output
from burnin.card.sources.linux_card import LinuxCard
from burnin.card.sources.meanings import LinuxReason
from burnin.core.reading import NotMeasured
from tests.card.edid_bytes import base_block
from tests.card.sysfs_tree import CARD, ROOT_PORT, SysfsTree, corvane_bench

FOLDER = f"/sys/devices/pci0000:00/{ROOT_PORT}/{CARD}"
EDID = base_block()


@pytest.fixture
def tree(tmp_path: Path) -> SysfsTree:
    return corvane_bench(tmp_path)


def outputs(tree: SysfsTree) -> tuple[Output, ...] | NotMeasured:
    return LinuxCard(tree.files, CARD).outputs()


def test_outputs_of_this_card_and_no_other(tree: SysfsTree) -> None:
    other = tree.function("0000:00:02.0", vendor="0x8086", **{"class": "0x030000"})
    tree.drm(other, 0, DP_1={"status": "connected", "edid": EDID, "modes": "1280x720"})
    tree.drm(
        FOLDER,
        1,
        DP_1={
            "status": "connected",
            "enabled": "enabled",
            "edid": EDID,
            "modes": "1920x1080\n1280x720\n",
        },
        HDMI_A_1={"status": "disconnected", "enabled": "disabled", "edid": b"", "modes": ""},
        Writeback_1={"status": "unknown", "enabled": "disabled"},
    )
    assert outputs(tree) == (
        Output("DP-1", "connected", EDID, ("1920x1080", "1280x720"), "enabled"),
        Output("HDMI-A-1", "disconnected", b"", (), "disabled"),
    )


def test_a_tenth_drm_device_is_not_taken_for_the_first(tree: SysfsTree) -> None:
    other = tree.function("0000:00:02.0", vendor="0x8086", **{"class": "0x030000"})
    tree.drm(other, 10, DP_1={"status": "connected"})
    tree.drm(FOLDER, 1, DP_2={"status": "disconnected", "enabled": "disabled", "edid": b""})
    found = outputs(tree)
    assert not isinstance(found, NotMeasured)
    assert [output.name for output in found] == ["DP-2"]


def test_a_driver_without_a_drm_device_shows_no_connectors(tree: SysfsTree) -> None:
    without_layer = outputs(tree)
    tree.at("/sys/class/drm").mkdir(parents=True)
    for found in (without_layer, outputs(tree)):
        assert isinstance(found, NotMeasured)
        assert found.reason.means(LinuxReason.NO_CONNECTORS)


def test_a_drm_device_without_connectors_means_none_fitted(tree: SysfsTree) -> None:
    tree.drm(FOLDER, 0)
    assert outputs(tree) == ()


@pytest.mark.parametrize("class_code", ["0x030200", "0x120000"])
def test_a_card_that_drives_no_display_by_its_class_has_none_fitted(
    tree: SysfsTree, class_code: str
) -> None:
    tree.write(f"{FOLDER}/class", class_code)
    assert outputs(tree) == ()


def test_an_output_whose_files_fail_says_so_for_itself(tree: SysfsTree) -> None:
    tree.drm(FOLDER, 0, DP_1={"status": "connected", "modes": "800x600"}, DP_2={"edid": EDID})
    found = outputs(tree)
    assert not isinstance(found, NotMeasured)
    first, second = found
    assert first.status == "connected"
    assert isinstance(first.edid, NotMeasured)
    assert isinstance(first.enabled, NotMeasured)
    assert second.edid == EDID
    assert isinstance(second.status, NotMeasured)


def test_what_was_set_by_hand_is_told_apart(tree: SysfsTree) -> None:
    tree.drm(FOLDER, 1, DP_1={"status": "connected", "enabled": "enabled", "edid": EDID})
    for name, text in (("force", "unspecified\n"), ("edid_override", "")):
        _by_hand(tree, name, text)
    (output,) = _told(tree)
    assert (output.forced, output.edid_set) == ("", False)
    _by_hand(tree, "force", "off\n")
    _by_hand(tree, "edid_override", "bytes of an EDID")
    (output,) = _told(tree)
    assert (output.forced, output.edid_set) == ("off", True)


def _by_hand(tree: SysfsTree, name: str, text: str) -> None:
    file = tree.root / "sys/kernel/debug/dri/1/DP-1" / name
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(text)


def _told(tree: SysfsTree) -> tuple[Output, ...]:
    found = outputs(tree)
    assert not isinstance(found, NotMeasured)
    return found
