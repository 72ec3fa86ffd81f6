"""A card of any vendor read from the files of its bench: who it is, whether it is there."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from burnin.card.capabilities import Card
from burnin.card.file_errors import FileReason
from burnin.card.meanings import LinkWordsReason
from burnin.card.merge import open_bench
from burnin.card.pci.config_space import ConfigurationSpace
from burnin.card.pci.reasons import ConfigReason
from burnin.card.sources.linux_card import LinuxBench, LinuxCard
from burnin.card.sources.meanings import LinuxReason, LinuxSourceOf, NamesReason
from burnin.core.identity import Bar
from burnin.core.meaning import Reason
from burnin.core.reading import NotMeasured
from burnin.report.languages.catalogue import catalogue
from tests.card.sysfs_tree import (
    CARD,
    CARD_ATTRIBUTES,
    CORVANE,
    PORT_ATTRIBUTES,
    ROOT_PORT,
    SysfsTree,
    corvane_bench,
)

PCI_IDS = """\
# a list as pciutils has it
f5a7  Corvane
\t0901  Strata 9
\t\tf5a7 0001  Strata 9 Bench Edition
\t0902  Strata 9 Mini
f5a8  Somebody Else
\t0901  Other Thing
C 03  Display controller
\t00  VGA compatible controller
"""


@pytest.fixture
def tree(tmp_path: Path) -> SysfsTree:
    return corvane_bench(tmp_path)


def the_card(tree: SysfsTree) -> LinuxCard:
    (card,) = LinuxBench(tree.files).linux_cards()
    return card


def reason(value: object) -> Reason:
    assert isinstance(value, NotMeasured)
    return value.reason


def test_the_card_says_who_it_is(tree: SysfsTree) -> None:
    tree.write("/usr/share/misc/pci.ids", PCI_IDS)
    identity = the_card(tree).identity()
    assert identity.address == CARD
    assert (identity.vendor_id, identity.device_id) == (CORVANE, 0x0901)
    assert (identity.subsystem_vendor_id, identity.subsystem_id) == (CORVANE, 1)
    assert identity.revision == 0xC1
    assert identity.class_code == 0x030000
    assert identity.name == "Strata 9 Bench Edition"
    assert identity.vendor_name == "Corvane"
    assert (identity.driver, identity.driver_version) == ("corvane", "6.12.4")
    assert identity.firmware_version == "113-C0909-104"
    assert identity.memory_bytes == 17163091968
    assert identity.serial == "7c1d02e9aa51f004"
    assert not identity.simulated


def test_windows_come_with_size_and_kind(tree: SysfsTree) -> None:
    # Memory windows of the first six lines; the port window (flag 0x100) and the ROM are none.
    assert the_card(tree).identity().bars == (
        Bar(0, 16 << 30, True),
        Bar(2, 2 << 20, True),
        Bar(5, 512 << 10, False),
    )


def test_what_a_driver_does_not_tell_is_not_measured_with_its_reason(tmp_path: Path) -> None:
    tree = SysfsTree(tmp_path)
    tree.function(CARD, vendor="0xf5a7", device="0x0901", **{"class": "0x030200"})
    tree.write(
        f"/sys/devices/pci0000:00/{CARD}/resource", CARD_ATTRIBUTES["resource"].splitlines()[0]
    )
    identity = the_card(tree).identity()
    assert reason(identity.driver) == LinuxReason.NO_DRIVER()
    assert reason(identity.driver_version) == LinuxReason.NO_DRIVER()
    assert reason(identity.firmware_version) == FileReason.NOT_OFFERED(name="vbios_version")
    assert reason(identity.memory_bytes) == LinuxReason.MEMORY_WINDOW_ONLY(window_mib=16384.0)
    assert reason(identity.name) == NamesReason.NO_LIST()
    assert reason(identity.vendor_name) == NamesReason.NO_LIST()
    assert reason(identity.serial) == FileReason.NOT_OFFERED(name="unique_id")
    assert reason(identity.subsystem_id) == FileReason.NOT_OFFERED(name="subsystem_device")
    assert reason(identity.uuid) == LinuxReason.NO_UUID()


def test_a_driver_of_the_kernels_own_has_no_version(tree: SysfsTree) -> None:
    tree.at("/sys/module/corvane/version").unlink()
    identity = the_card(tree).identity()
    assert identity.driver == "corvane"
    assert reason(identity.driver_version) == LinuxReason.DRIVER_HAS_NO_VERSION(driver="corvane")


def test_registers_help_where_the_kernel_shows_no_attribute(tree: SysfsTree, data: Path) -> None:
    folder = f"/sys/bus/pci/devices/{CARD}"
    for name in ("subsystem_vendor", "subsystem_device", "revision", "unique_id"):
        tree.at(f"{folder}/{name}").unlink()
    tree.write(f"{folder}/config", (data / "config_space.bin").read_bytes())
    identity = the_card(tree).identity()
    assert (identity.subsystem_vendor_id, identity.subsystem_id) == (0x10DE, 0x16C1)
    assert identity.revision == 0xA1
    assert identity.serial == "08-07-06-05-04-03-02-01"


def test_names_fall_back_from_board_to_device_to_number(tree: SysfsTree) -> None:
    tree.write("/usr/share/hwdata/pci.ids", PCI_IDS)
    tree.write(f"/sys/bus/pci/devices/{CARD}/subsystem_device", "0x0077")
    assert the_card(tree).identity().name == "Strata 9"
    tree.write(f"/sys/bus/pci/devices/{CARD}/device", "0x0999")
    identity = the_card(tree).identity()
    assert reason(identity.name) == NamesReason.NO_DEVICE(vendor_id=CORVANE, device_id=0x0999)
    assert identity.vendor_name == "Corvane"


def test_only_cards_are_found_and_in_bus_order(tree: SysfsTree) -> None:
    tree.function(ROOT_PORT, "0000:01:00.1", vendor="0xf5a7", **{"class": "0x040300"})
    tree.function("0000:00:02.0", vendor="0x8086", **{"class": "0x038000"})
    tree.function("0000:00:03.0", vendor="0xf5a7", **{"class": "0x120000"})
    tree.function("0000:00:04.0", vendor="0xf5a7", **{"class": "0x030200"})
    tree.function("0000:00:05.0", vendor="0xf5a7", **{"class": "garbage"})
    virtual = tree.function("0000:00:06.0", vendor="0xf5a7", **{"class": "0x030200"})
    tree.link(f"{virtual}/physfn", "/sys/devices/pci0000:00/0000:00:04.0")
    cards = LinuxBench(tree.files).linux_cards()
    assert [card.address for card in cards] == [
        "0000:00:02.0",
        "0000:00:03.0",
        "0000:00:04.0",
        CARD,
    ]


def test_a_bench_without_a_bus_has_no_cards(tmp_path: Path) -> None:
    assert LinuxBench(SysfsTree(tmp_path).files).cards() == ()


def test_configuration_space_is_what_privilege_allows(tree: SysfsTree, data: Path) -> None:
    path = f"/sys/bus/pci/devices/{CARD}/config"
    whole = (data / "config_space.bin").read_bytes()
    tree.write(path, whole)
    space = the_card(tree).configuration_space()
    assert isinstance(space, ConfigurationSpace)
    assert space.complete
    tree.write(path, whole[:64])
    space = the_card(tree).configuration_space()
    assert isinstance(space, ConfigurationSpace)
    assert reason(space.link()).means(ConfigReason.CUT_WITHOUT_PRIVILEGE)
    tree.write(path, whole[:10])
    short = reason(the_card(tree).configuration_space())
    assert short == LinuxReason.CONFIG_TOO_SHORT(bytes_there=10, header_bytes=64)
    tree.at(path).unlink()
    gone = reason(the_card(tree).configuration_space())
    assert gone == FileReason.NOT_OFFERED(name="config")


class TestPresence:
    def test_a_card_that_answers_is_there(self, tree: SysfsTree, data: Path) -> None:
        path = f"/sys/bus/pci/devices/{CARD}/config"
        tree.write(path, (data / "config_space.bin").read_bytes()[:64])
        assert the_card(tree).present()

    def test_all_ones_in_its_registers_is_gone(self, tree: SysfsTree) -> None:
        # The kernel still remembers the vendor, as it does on a real bench.
        tree.write(f"/sys/bus/pci/devices/{CARD}/config", b"\xff" * 64)
        card = the_card(tree)
        assert card.vendor_id() == CORVANE
        assert not card.present()

    def test_all_ones_as_vendor_is_gone(self, tree: SysfsTree, data: Path) -> None:
        card = the_card(tree)
        tree.write(
            f"/sys/bus/pci/devices/{CARD}/config", (data / "config_space.bin").read_bytes()
        )
        tree.write(f"/sys/bus/pci/devices/{CARD}/vendor", "0xffff")
        assert not card.present()

    def test_a_folder_that_vanished_is_gone(self, tree: SysfsTree) -> None:
        card = the_card(tree)
        tree.at(f"/sys/bus/pci/devices/{CARD}").unlink()
        assert not card.present()


class TestLink:
    def test_both_ends_are_read(self, tree: SysfsTree) -> None:
        link = the_card(tree).link()
        assert (link.card.speed_gts, link.card.width_lanes) == (8.0, 8)
        assert (link.card.max_speed_gts, link.card.max_width_lanes) == (16.0, 16)
        assert not isinstance(link.port, NotMeasured)
        assert (link.port.speed_gts, link.port.max_speed_gts) == (16.0, 32.0)
        assert link.card.source == LinuxSourceOf.LINK_ATTRIBUTES(address=CARD)
        assert link.port.source == LinuxSourceOf.LINK_ATTRIBUTES(address=ROOT_PORT)

    def test_without_a_port_above_the_card_that_is_said(self, tmp_path: Path) -> None:
        tree = SysfsTree(tmp_path)
        tree.function("0000:00:06.0", **CARD_ATTRIBUTES)
        assert reason(the_card(tree).link().port) == LinuxReason.NO_PORT_ABOVE()

    def test_the_switch_on_a_card_ends_the_slots_link(self, tmp_path: Path) -> None:
        # The GPU's own link is a trace on the card and always wide; the slot's is the narrow one.
        tree = SysfsTree(tmp_path)
        up, down, gpu = "0000:01:00.0", "0000:02:00.0", "0000:03:00.0"
        bridge = {"vendor": "0xf5a7", "class": "0x060400"}
        narrow = {"current_link_width": "4", "max_link_width": "16"}
        tree.function(ROOT_PORT, **PORT_ATTRIBUTES)
        tree.function(ROOT_PORT, up, **bridge, **narrow)
        tree.function(ROOT_PORT, up, down, **bridge, current_link_width="16")
        tree.function(
            ROOT_PORT, up, down, gpu, **(CARD_ATTRIBUTES | {"current_link_width": "16"})
        )
        link = the_card(tree).link()
        assert link.card.width_lanes == 4
        assert link.card.source["address"] == up
        assert not isinstance(link.port, NotMeasured)
        assert link.port.source["address"] == ROOT_PORT
        assert the_card(tree).telemetry().link_width_lanes == 4

    def test_a_switch_of_the_bench_is_not_taken_for_the_cards(self, tmp_path: Path) -> None:
        tree = SysfsTree(tmp_path)
        up, down, gpu = "0000:01:00.0", "0000:02:00.0", "0000:03:00.0"
        bridge = {"vendor": "0x10b5", "class": "0x060400", "current_link_width": "8"}
        tree.function(ROOT_PORT, **PORT_ATTRIBUTES)
        tree.function(ROOT_PORT, up, **bridge)
        tree.function(ROOT_PORT, up, down, **bridge)
        tree.function(ROOT_PORT, up, down, gpu, **CARD_ATTRIBUTES)
        link = the_card(tree).link()
        assert link.card.source["address"] == gpu
        assert not isinstance(link.port, NotMeasured)
        assert link.port.source["address"] == down

    def test_a_root_port_of_the_cards_own_vendor_is_still_the_port(self, tmp_path: Path) -> None:
        tree = SysfsTree(tmp_path)
        tree.function(ROOT_PORT, **(PORT_ATTRIBUTES | {"vendor": "0xf5a7"}))
        tree.function(ROOT_PORT, CARD, **CARD_ATTRIBUTES)
        link = the_card(tree).link()
        assert link.card.source["address"] == CARD
        assert not isinstance(link.port, NotMeasured)

    def test_registers_tell_the_link_where_attributes_do_not(
        self, tree: SysfsTree, data: Path
    ) -> None:
        folder = f"/sys/bus/pci/devices/{CARD}"
        for name in ("current_link_speed", "current_link_width", "max_link_speed"):
            tree.at(f"{folder}/{name}").unlink()
        tree.write(f"{folder}/max_link_width", "0")
        tree.write(f"{folder}/config", (data / "config_space.bin").read_bytes())
        end = the_card(tree).link().card
        assert (end.speed_gts, end.width_lanes) == (32.0, 16)
        assert end.source == LinuxSourceOf.LINK_REGISTERS(address=CARD)

    def test_a_speed_that_the_kernel_does_not_know_is_not_measured(self, tree: SysfsTree) -> None:
        tree.write(f"/sys/bus/pci/devices/{CARD}/current_link_speed", "Unknown")
        told = reason(the_card(tree).link().card.speed_gts)
        assert told == LinkWordsReason.SPEED(words="Unknown")


KERNEL_SPELLING = """\
RxErr 3
BadTLP 17
BadDLLP 0
Rollover 1
Timeout 2
NonFatalErr 0
CorrIntErr 0
HeaderOF 0
TOTAL_ERR_COR 22"""
DOCUMENTED_SPELLING = """\
Receiver Error 3
Bad TLP 17
Bad DLLP 0
RELAY_NUM Rollover 1
Replay Timer Timeout 2
Advisory Non-Fatal 0
Corrected Internal Error 0
Header Log Overflow 0
TOTAL_ERR_COR 22"""


class TestErrorCounters:
    @pytest.mark.parametrize("text", [KERNEL_SPELLING, DOCUMENTED_SPELLING])
    def test_both_spellings_give_the_same_names(self, tree: SysfsTree, text: str) -> None:
        tree.write(f"/sys/bus/pci/devices/{CARD}/aer_dev_correctable", text)
        counters = the_card(tree).error_counters()
        assert not isinstance(counters, NotMeasured)
        assert {counter.name: counter.value for counter in counters} == {
            "receiver error (correctable)": 3,
            "bad TLP (correctable)": 17,
            "bad DLLP (correctable)": 0,
            "replay number rollover (correctable)": 1,
            "replay timer timeout (correctable)": 2,
            "advisory non-fatal (correctable)": 0,
            "corrected internal (correctable)": 0,
            "header log overflow (correctable)": 0,
        }
        assert {counter.modulus for counter in counters} == {1 << 64}

    def test_an_error_is_filed_at_the_end_that_saw_it(self, tree: SysfsTree) -> None:
        tree.write(f"/sys/bus/pci/devices/{CARD}/aer_dev_fatal", "SDES 0\nTOTAL_ERR_FATAL 0")
        tree.write(f"/sys/bus/pci/devices/{ROOT_PORT}/aer_dev_fatal", "SDES 2\nTLP 1")
        counters = the_card(tree).error_counters()
        assert not isinstance(counters, NotMeasured)
        assert {(counter.end, counter.name): counter.value for counter in counters} == {
            ("card", "surprise down (fatal)"): 0,
            ("port", "surprise down (fatal)"): 2,
            ("port", "poisoned TLP (fatal)"): 1,
        }
        assert {counter.source for counter in counters} == {
            LinuxSourceOf.AER_FILE(file="aer_dev_fatal", address=address)
            for address in (CARD, ROOT_PORT)
        }

    def test_garbage_lines_are_passed_over(self, tree: SysfsTree) -> None:
        tree.write(
            f"/sys/bus/pci/devices/{CARD}/aer_dev_nonfatal", "FCP one\n\nFCP 1 2 x\n7\nNewErr 4"
        )
        counters = the_card(tree).error_counters()
        assert not isinstance(counters, NotMeasured)
        found = [(counter.name, counter.value) for counter in counters]
        assert found == [("NewErr (non-fatal)", 4)]

    def test_without_counters_that_is_said_and_never_zero(self, tree: SysfsTree) -> None:
        assert reason(the_card(tree).error_counters()) == LinuxReason.NO_ERROR_COUNTERS()


def test_lane_registers_of_both_ends_can_be_read(tree: SysfsTree, data: Path) -> None:
    tree.write(
        f"/sys/bus/pci/devices/{ROOT_PORT}/config", (data / "config_space.bin").read_bytes()
    )
    port = the_card(tree).configuration_space_at("port")
    assert isinstance(port, ConfigurationSpace)
    assert port.complete
    assert reason(the_card(tree).configuration_space_at("card")).means(FileReason.NOT_OFFERED)


def test_the_bench_tells_its_facts_but_not_its_name(tree: SysfsTree) -> None:
    tree.write("/etc/os-release", 'NAME="X"\nPRETTY_NAME="Bench Linux 3"')
    tree.write("/proc/sys/kernel/osrelease", "6.12.4-bench")
    tree.write("/proc/sys/kernel/hostname", "wrenfield-bench-2")
    tree.write("/proc/cpuinfo", "processor\t: 0\nmodel name\t: Example 9000\n")
    tree.write("/proc/meminfo", "MemTotal:       32768000 kB\nMemFree: 1 kB")
    facts = open_bench(tree.files, this_machine=False).description()
    assert facts["operating_system"] == "Bench Linux 3"
    assert facts["kernel"] == "6.12.4-bench"
    assert facts["processor"] == "Example 9000"
    assert facts["memory"] == "32768000 kB"
    assert reason(facts["boot_id"]).means(FileReason.NOT_OFFERED)
    assert "wrenfield-bench-2" not in str(facts)


def test_a_linux_card_offers_all_that_a_card_does(tree: SysfsTree) -> None:
    card: Card = the_card(tree)
    assert card.identity().address == CARD
    assert LinuxBench(tree.files, simulated=True).cards()[0].identity().simulated


class Noise:
    """A bench whose files hold anything: every path exists and reads as what is drawn."""

    def __init__(self, draw: st.DataObject) -> None:
        self._draw = draw
        self._names = st.lists(
            st.sampled_from(
                [
                    *("card0", "card0-DP-1", "hwmon0", "temp1_input", "temp2_label", "freq1_input"),
                    *("power1_average", "tile0", "gt0", "status", CARD, "card", "-", ""),
                ]
            ),
            max_size=8,
            unique=True,
        )

    def read_bytes(self, path: str, limit: int = 1 << 20) -> bytes:
        words = st.sampled_from([b"0xf5a7", b"0x030000", b"edge", b"sclk", b"-1", b"RxErr 1", b""])
        content = self._draw.draw(st.one_of(words, st.binary(max_size=200)), label=path)
        return content[:limit]

    def list_folder(self, path: str) -> list[str]:
        return sorted(self._draw.draw(self._names, label=path))

    def resolve(self, path: str) -> str:
        places = ["/", "/sys/devices/pci0000:00", f"/sys/devices/pci0000:00/{ROOT_PORT}/{CARD}"]
        return self._draw.draw(st.sampled_from([path, *places]))


@settings(max_examples=60)
@given(st.data())
def test_no_content_of_the_files_is_ever_an_error(draw: st.DataObject) -> None:
    card = LinuxCard(Noise(draw), CARD)
    link = card.link()
    assert link.card.source.means(*LinuxSourceOf)
    for value in (
        card.identity().name,
        card.configuration_space(),
        card.error_counters(),
        card.outputs(),
        card.telemetry().gpu_temp_c,
        card.temperature_limits().slowdown_c,
    ):
        assert not isinstance(value, NotMeasured) or catalogue("en").knows(value.reason.code)
    assert card.present() in (True, False)
