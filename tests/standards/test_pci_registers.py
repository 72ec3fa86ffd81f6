"""Register offsets, bits and decoding against Linux's pci_regs.h and pciutils' lspci."""

from __future__ import annotations

import random
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from burnin.card.pci import registers as reg
from burnin.card.pci.config_space import ConfigurationSpace
from burnin.card.pci.link_registers import ErrorStatus, LinkRegisters
from burnin.core.reading import NotMeasured
from tests.standards import lspci

KERNEL_HEADER = "/usr/include/linux/pci_regs.h"  # linux-libc-dev
PCIUTILS_HEADER = "/usr/include/x86_64-linux-gnu/pci/header.h"  # libpci-dev
RequireTool = Callable[[str], str]


def defines(path: str) -> dict[str, int]:
    """Names and numbers of a C header's simple definitions."""
    found: dict[str, int] = {}
    pattern = re.compile(r"#\s*define\s+(PCI_\w+)\s+(0[xX][0-9a-fA-F]+|\d+)\b")
    for line in Path(path).read_text(encoding="latin-1").splitlines():
        match = pattern.match(line)
        if match:
            found[match.group(1)] = int(match.group(2), 0)
    return found


def documented() -> list[tuple[int, str, str]]:
    """Value, published name and remark of every constant and table key of our register module."""
    text = Path(reg.__file__).read_text()
    pattern = re.compile(
        r"^(?:[A-Z0-9_]+ = |    )(0x[0-9A-Fa-f]+|\d+)(?:: .*?,)?  # (.*PCI_.*)$", re.MULTILINE
    )
    return [
        (int(value, 0), name, remark)
        for value, remark in pattern.findall(text)
        for name in re.findall(r"PCI_\w+", remark)
    ]


def test_every_register_has_the_number_that_the_kernel_header_gives(
    require_tool: RequireTool,
) -> None:
    # Source: linux-libc-dev, include/uapi/linux/pci_regs.h.
    header = defines(require_tool(KERNEL_HEADER))
    ours = [row for row in documented() if "pciutils" not in row[2] and "later" not in row[2]]
    assert len(ours) > 110
    wrong = {name: value for value, name, _ in ours if header.get(name) != value}
    assert not wrong


def test_registers_that_the_kernel_header_lacks_are_those_of_pciutils(
    require_tool: RequireTool,
) -> None:
    # Source: libpci-dev, header.h.
    header = defines(require_tool(PCIUTILS_HEADER))
    ours = [row for row in documented() if "pciutils" in row[2]]
    assert {name for _, name, _ in ours} == {"PCI_EXT_CAP_ID_LMR", "PCI_SEC_LANE_ERR"}
    assert {name: value for value, name, _ in ours} == {name: header[name] for _, name, _ in ours}
    assert header["PCI_EXT_CAP_ID_16GT"] == reg.EXT_CAP_ID_PHYSICAL_16GT


@pytest.fixture
def recorded(data: Path) -> bytes:
    return (data / "config_space.bin").read_bytes()


LSPCI_NAMES = {
    "blank": "Null",
    "power management": "Power Management",
    "MSI": "MSI:",
    "PCI Express": "Express",
    "MSI-X": "MSI-X:",
    "advanced error reporting": "Advanced Error Reporting",
    "latency tolerance reporting": "Latency Tolerance Reporting",
    "vendor specific": "Vendor Specific Information",
    "power budgeting": "Power Budgeting",
    "device serial number": "Device Serial Number",
}


def test_capability_lists_are_those_that_lspci_finds(
    recorded: bytes, require_tool: RequireTool, tmp_path: Path
) -> None:
    (text,) = lspci.told(require_tool("lspci"), [recorded], tmp_path)
    theirs = [
        (int(at, 16), int(version or "0"), name)
        for at, version, name in re.findall(
            r"Capabilities: \[([0-9a-f]+)(?: v(\d+))?\] (.*)", text
        )
    ]
    space = ConfigurationSpace(recorded)
    ours = space.capabilities.entries + space.extended_capabilities.entries
    assert [(entry.offset, entry.version) for entry in ours] == [row[:2] for row in theirs]
    for entry, (_, _, name) in zip(ours, theirs, strict=True):
        assert name.startswith(LSPCI_NAMES[entry.name])
    assert not space.capabilities.cut
    assert not space.extended_capabilities.cut


def test_header_is_read_as_lspci_reads_it(
    recorded: bytes, require_tool: RequireTool, tmp_path: Path
) -> None:
    (text,) = lspci.told(require_tool("lspci"), [recorded], tmp_path)
    space = ConfigurationSpace(recorded)
    first = text.splitlines()[0]
    assert f"[{space.vendor_id:04x}:{space.device_id:04x}]" in first
    assert isinstance(space.class_code, int)
    assert f"[{space.class_code >> 8:04x}]" in first
    assert f"(rev {space.revision:02x})" in first
    subsystem = lspci.line_of(text, "Subsystem:")
    assert subsystem.endswith(f"[{space.subsystem_vendor_id:04x}:{space.subsystem_id:04x}]")
    windows = space.base_addresses()
    assert not isinstance(windows, NotMeasured)
    theirs = re.findall(r"Region (\d): Memory at (\w+) \((\d+)-bit, (non-)?prefetchable\)", text)
    assert [(w.number, f"{w.address:x}", w.bits, w.prefetchable) for w in windows] == [
        (int(number), at, int(bits), not non) for number, at, bits, non in theirs
    ]
    assert f"Device Serial Number {space.serial_number()}" in text
    payload = lspci.line_of(text, "MaxPayload 256 bytes, MaxReadReq")
    assert payload.startswith(f"MaxPayload {space.max_payload_bytes()} bytes")


def with_numbers(data: bytes, *patches: tuple[int, int, int]) -> bytes:
    """The bytes with little-endian numbers (offset, size, value) written over them."""
    changed = bytearray(data)
    for offset, size, value in patches:
        changed[offset : offset + size] = value.to_bytes(size, "little")
    return bytes(changed)


def test_link_registers_are_decoded_as_lspci_decodes_them(
    recorded: bytes, require_tool: RequireTool, tmp_path: Path
) -> None:
    at = ConfigurationSpace(recorded).find(reg.CAP_ID_EXPRESS)
    assert isinstance(at, int)
    dice = random.Random(6)
    spaces = [recorded]
    for _ in range(60):
        speed, width = dice.randint(1, 6), dice.choice(reg.WIDTHS_LANES)
        status = dice.randint(1, 6) | dice.choice(reg.WIDTHS_LANES) << 4 | dice.randrange(16) << 12
        capability = speed | width << 4 | dice.randrange(4) << 10 | dice.randrange(2) << 20
        status |= dice.randrange(2) << 11
        control = dice.choice((0, 1, 2, 3, 0x10, 0x200))
        spaces.append(
            with_numbers(
                recorded,
                (at + reg.EXP_LNKCAP, 4, capability),
                (at + reg.EXP_LNKCTL, 2, control),
                (at + reg.EXP_LNKSTA, 2, status),
                (at + reg.EXP_DEVSTA, 2, dice.randrange(64)),
            )
        )
    device_names = {
        "correctable error detected": "CorrErr",
        "non-fatal error detected": "NonFatalErr",
        "fatal error detected": "FatalErr",
        "unsupported request detected": "UnsupReq",
        "auxiliary power detected": "AuxPwr",
        "transactions pending": "TransPend",
    }
    for data, text in zip(
        spaces, lspci.told(require_tool("lspci"), spaces, tmp_path), strict=True
    ):
        space = ConfigurationSpace(data)
        link = space.link()
        assert isinstance(link, LinkRegisters)
        capability_line = lspci.line_of(text, "LnkCap:")
        status_line = lspci.line_of(text, "LnkSta:")
        status_flags = lspci.flags("x:" + lspci.line_of(text, "TrErr"))
        most = f"Speed {link.max_speed_gts:g}GT/s, Width x{link.max_width_lanes},"
        assert most in capability_line
        assert re.search(rf"Speed {link.speed_gts:g}GT/s\b", status_line)
        assert re.search(rf"Width x{link.width_lanes}(\s|$)", status_line)
        assert link.training == ("Train" in status_flags)
        assert link.bandwidth_managed == ("BWMgmt" in status_flags)
        assert link.bandwidth_autonomous == ("ABWMgmt" in status_flags)
        if not isinstance(link.active, NotMeasured):
            assert link.active == ("DLActive" in status_flags)
        control_line = lspci.line_of(text, "LnkCtl:")
        aspm = {"off": "Disabled", "L0s": "L0s Enabled", "L1": "L1 Enabled"}.get(
            link.aspm, "L0s L1 Enabled"
        )
        assert f"ASPM {aspm};" in control_line
        assert link.disabled == ("Disabled+" in control_line)
        assert link.width_fixed == ("AutWidDis+" in lspci.line_of(text, "ExtSynch"))
        raised = space.device_status()
        assert not isinstance(raised, NotMeasured)
        assert {device_names[name] for name in raised} == lspci.flags(
            lspci.line_of(text, "DevSta:")
        )
        phases = lspci.flags("x:" + text[text.index("EqualizationComplete") :].split("LinkEq")[0])
        equalized = space.equalization(8.0)
        assert not isinstance(equalized, NotMeasured)
        assert equalized.complete == ("EqualizationComplete" in phases)
        assert len(equalized.states) == len([p for p in phases if p.startswith("Equalization")])


ERROR_NAMES = {
    "data link protocol": "DLP",
    "surprise down": "SDES",
    "poisoned TLP": "TLP",
    "flow control protocol": "FCP",
    "completion timeout": "CmpltTO",
    "completer abort": "CmpltAbrt",
    "unexpected completion": "UnxCmplt",
    "receiver overflow": "RxOF",
    "malformed TLP": "MalfTLP",
    "ECRC": "ECRC",
    "unsupported request": "UnsupReq",
    "access control violation": "ACSViol",
    "receiver error": "RxErr",
    "bad TLP": "BadTLP",
    "bad DLLP": "BadDLLP",
    "replay number rollover": "Rollover",
    "replay timer timeout": "Timeout",
    "advisory non-fatal": "AdvNonFatalErr",
}
"""Our names and lspci's; lspci 3.9 shows no others."""


def test_error_status_is_decoded_as_lspci_decodes_it(
    recorded: bytes, require_tool: RequireTool, tmp_path: Path
) -> None:
    at = ConfigurationSpace(recorded).find(reg.EXT_CAP_ID_ERRORS, extended=True)
    assert at == 0x1B8
    dice = random.Random(16)
    spaces = [
        with_numbers(
            recorded,
            (at + reg.ERR_UNCORRECTABLE_STATUS, 4, dice.getrandbits(26)),
            (at + reg.ERR_UNCORRECTABLE_MASK, 4, dice.getrandbits(26)),
            (at + reg.ERR_CORRECTABLE_STATUS, 4, dice.getrandbits(16)),
            (at + reg.ERR_CORRECTABLE_MASK, 4, dice.getrandbits(16)),
        )
        for _ in range(40)
    ]
    for data, text in zip(
        spaces, lspci.told(require_tool("lspci"), spaces, tmp_path), strict=True
    ):
        errors = ConfigurationSpace(data).errors()
        assert isinstance(errors, ErrorStatus)
        for ours, start in (
            (errors.uncorrectable, "UESta:"),
            (errors.uncorrectable_masked, "UEMsk:"),
            (errors.correctable, "CESta:"),
            (errors.correctable_masked, "CEMsk:"),
        ):
            theirs = lspci.flags(lspci.line_of(text, start))
            assert {ERROR_NAMES[name] for name in ours if name in ERROR_NAMES} == theirs


def test_lane_errors_are_those_that_lspci_lists(
    recorded: bytes, require_tool: RequireTool, tmp_path: Path
) -> None:
    # The blank entry at 0x250 is made a Secondary PCI Express capability, with lanes in error.
    wanted = [0, 0x1, 0x8001, 0x00F0, 0xFFFF]
    spaces = [
        with_numbers(recorded, (0x250, 4, 0x2A410019), (0x258, 4, lanes)) for lanes in wanted
    ]
    for data, text, lanes in zip(
        spaces, lspci.told(require_tool("lspci"), spaces, tmp_path), wanted, strict=True
    ):
        line = lspci.line_of(text, "LaneErrStat:")
        _, _, listed = line.partition("at lane:")
        theirs = tuple(int(lane) for lane in re.findall(r"\b(\d+)\b", listed))
        assert ConfigurationSpace(data).lane_errors() == theirs
        assert len(theirs) == lanes.bit_count()


def test_capabilities_hidden_by_the_hypervisor_are_found_once_linked_again(
    recorded: bytes, require_tool: RequireTool, tmp_path: Path
) -> None:
    # The recorded bytes still hold physical-layer and margining capabilities that no pointer
    # reaches; linked in again, lspci must see them where this reader does.
    linked = with_numbers(recorded, (0x134, 4, 0x14010000), (0x1B8, 4, 0x20020001))
    (text,) = lspci.told(require_tool("lspci"), [linked], tmp_path)
    space = ConfigurationSpace(linked)
    for capability, name in (
        (reg.EXT_CAP_ID_PHYSICAL_16GT, "Physical Layer 16.0 GT/s"),
        (reg.EXT_CAP_ID_MARGINING, "Lane Margining at the Receiver"),
    ):
        at = space.find(capability, extended=True)
        assert isinstance(at, int)
        assert re.search(rf"Capabilities: \[{at:x} v1\] {re.escape(name)}", text)
    # A link that runs at 32 GT/s must have finished equalisation at every rate below.
    for speed_gts in (8.0, 16.0, 32.0):
        equalized = space.equalization(speed_gts)
        assert not isinstance(equalized, NotMeasured)
        assert equalized.complete
    margining = space.lane_margining()
    assert not isinstance(margining, NotMeasured)
    assert margining.uses_driver_software
    assert not margining.ready


def test_a_bridge_keeps_its_subsystem_where_lspci_finds_it(
    require_tool: RequireTool, tmp_path: Path
) -> None:
    bridge = bytearray(256)
    bridge[0:4] = bytes.fromhex("a7f50100")
    bridge[0x06] = reg.STATUS_CAPABILITY_LIST
    bridge[0x0A:0x0C] = bytes.fromhex("0406")
    bridge[0x0E] = reg.HEADER_TYPE_BRIDGE
    bridge[0x34] = 0x40
    bridge[0x40:0x48] = bytes.fromhex("0d000000a7f50200")
    (text,) = lspci.told(require_tool("lspci"), [bytes(bridge)], tmp_path)
    space = ConfigurationSpace(bytes(bridge))
    assert "[40] Subsystem:" in text
    assert f"[{space.subsystem_vendor_id:04x}:{space.subsystem_id:04x}]" in text
    assert space.header_type == reg.HEADER_TYPE_BRIDGE
