"""PCI configuration space, read by register.

The bytes may be few: Linux shows 64 of 4,096 without privilege, 256 where a bench cannot reach
extended configuration space. What lies beyond is `NotMeasured` and says so. How capabilities are
found: `burnin.card.pci.capability_chain`. Nothing here raises on any bytes.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from burnin.card.pci import registers as reg
from burnin.card.pci.base_addresses import BaseAddress, read_base_addresses
from burnin.card.pci.capability_chain import CapabilityChain, extended_chain, field, standard_chain
from burnin.card.pci.error_registers import read_equalization, read_errors
from burnin.card.pci.link_registers import (
    Equalization,
    ErrorStatus,
    LaneMargining,
    LinkRegisters,
    decode_link,
    lanes_of,
    set_bits,
    speed_of,
)
from burnin.card.pci.reasons import ConfigReason
from burnin.core.reading import NotMeasured


@dataclass(frozen=True)
class ConfigurationSpace:
    """The bytes of one function's configuration space, as many as could be read."""

    data: bytes

    # --- raw fields -------------------------------------------------------------------------

    def field(self, offset: int, size_bytes: int) -> int | NotMeasured:
        """The little-endian number of 1, 2 or 4 bytes at `offset`."""
        return field(self.data, offset, size_bytes)

    @property
    def complete(self) -> bool:
        """Whether all 4,096 bytes are there."""
        return len(self.data) >= reg.EXTENDED_BYTES

    @property
    def gone(self) -> bool:
        """Whether the card does not answer: a read that nobody completes returns all ones.

        Vendor id 0xffff is never assigned (PCI Local Bus 3.0, 6.2.1), so its two bytes decide.
        """
        return len(self.data) >= 2 and self.data[:2] == b"\xff\xff"

    # --- header -----------------------------------------------------------------------------

    @property
    def vendor_id(self) -> int | NotMeasured:
        """Who made the chip."""
        return self.field(reg.VENDOR_ID, 2)

    @property
    def device_id(self) -> int | NotMeasured:
        """Which chip."""
        return self.field(reg.DEVICE_ID, 2)

    @property
    def revision(self) -> int | NotMeasured:
        """The chip's revision."""
        return self.field(reg.REVISION_ID, 1)

    @property
    def class_code(self) -> int | NotMeasured:
        """Class, subclass and programming interface as one 24-bit number."""
        interface = self.field(reg.CLASS_PROGRAMMING, 1)
        device = self.field(reg.CLASS_DEVICE, 2)
        if isinstance(interface, NotMeasured):
            return interface
        return device if isinstance(device, NotMeasured) else device << 8 | interface

    @property
    def header_type(self) -> int | NotMeasured:
        """0: a device; 1: a bridge, which every port is."""
        value = self.field(reg.HEADER_TYPE, 1)
        return value if isinstance(value, NotMeasured) else value & reg.HEADER_TYPE_MASK

    @property
    def subsystem_vendor_id(self) -> int | NotMeasured:
        """Who made the board; a bridge keeps it in a capability of its own."""
        return self._subsystem(reg.SUBSYSTEM_VENDOR_ID, reg.BRIDGE_SUBSYSTEM_VENDOR_ID)

    @property
    def subsystem_id(self) -> int | NotMeasured:
        """Which board."""
        return self._subsystem(reg.SUBSYSTEM_ID, reg.BRIDGE_SUBSYSTEM_ID)

    def _subsystem(self, in_header: int, in_capability: int) -> int | NotMeasured:
        kind = self.header_type
        if isinstance(kind, NotMeasured):
            return kind
        if kind == reg.HEADER_TYPE_NORMAL:
            return self.field(in_header, 2)
        at = self.find(reg.CAP_ID_BRIDGE_SUBSYSTEM)
        return at if isinstance(at, NotMeasured) else self.field(at + in_capability, 2)

    def base_addresses(self) -> tuple[BaseAddress, ...] | NotMeasured:
        """The base address registers that are in use: six in a device, two in a bridge."""
        kind = self.header_type
        if isinstance(kind, NotMeasured):
            return kind
        count = reg.BASE_ADDRESS_COUNT.get(kind)
        if count is None:
            return NotMeasured(ConfigReason.NO_BASE_ADDRESSES(header_type=kind))
        return read_base_addresses(self.data, count)

    # --- capability chains ------------------------------------------------------------------

    @cached_property
    def capabilities(self) -> CapabilityChain:
        """The standard chain."""
        return standard_chain(self.data)

    @cached_property
    def extended_capabilities(self) -> CapabilityChain:
        """The extended chain."""
        return extended_chain(self.data)

    def find(self, capability_id: int, *, extended: bool = False) -> int | NotMeasured:
        """Offset of the first capability with this id."""
        chain = self.extended_capabilities if extended else self.capabilities
        return chain.find(capability_id, extended=extended)

    # --- PCI Express capability -------------------------------------------------------------

    def _express(self, register: int, size_bytes: int) -> int | NotMeasured:
        at = self.find(reg.CAP_ID_EXPRESS)
        return at if isinstance(at, NotMeasured) else self.field(at + register, size_bytes)

    def port_type(self) -> str | NotMeasured:
        """What kind of port this is: endpoint, root port, downstream port …"""
        flags = self._express(reg.EXP_FLAGS, 2)
        if isinstance(flags, NotMeasured):
            return flags
        code = (flags & reg.EXP_FLAGS_TYPE) >> 4
        return reg.PORT_TYPES.get(code, f"port type 0x{code:x}")

    def max_payload_bytes(self) -> int | NotMeasured:
        """The payload that is set for a packet (PCI_EXP_DEVCTL_PAYLOAD): 128 << code."""
        control = self._express(reg.EXP_DEVCTL, 2)
        if isinstance(control, NotMeasured):
            return control
        code = (control & reg.EXP_DEVCTL_PAYLOAD) >> 5
        if code > 5:
            return NotMeasured(ConfigReason.PAYLOAD_RESERVED(payload_code=code))
        return 128 << code

    def device_status(self) -> tuple[str, ...] | NotMeasured:
        """Names of the device status bits that are set; the error bits among them are sticky."""
        status = self._express(reg.EXP_DEVSTA, 2)
        if isinstance(status, NotMeasured):
            return status
        return set_bits(reg.DEVICE_STATUS_BITS, status)

    def link(self) -> LinkRegisters | NotMeasured:
        """Link capabilities, control and status, with Link Capabilities 2 where there is one."""
        capabilities = self._express(reg.EXP_LNKCAP, 4)
        control = self._express(reg.EXP_LNKCTL, 2)
        status = self._express(reg.EXP_LNKSTA, 2)
        for part in (capabilities, control, status):
            if isinstance(part, NotMeasured):
                return part
        assert isinstance(capabilities, int)
        assert isinstance(control, int)
        assert isinstance(status, int)
        supported, target = self._second_registers()
        return decode_link(capabilities, control, status, supported, target)

    def _second_registers(
        self,
    ) -> tuple[tuple[float, ...] | NotMeasured, float | NotMeasured]:
        """Supported and target speeds; both exist from capability version 2 on."""
        flags = self._express(reg.EXP_FLAGS, 2)
        if isinstance(flags, NotMeasured):
            return flags, flags
        if flags & reg.EXP_FLAGS_VERSION < 2:
            absent = NotMeasured(ConfigReason.NO_SECOND_REGISTERS())
            return absent, absent
        vector = self._express(reg.EXP_LNKCAP2, 4)
        control = self._express(reg.EXP_LNKCTL2, 2)
        supported: tuple[float, ...] | NotMeasured
        if isinstance(vector, NotMeasured):
            supported = vector
        else:
            supported = tuple(gts for bit, gts in reg.SPEED_BY_VECTOR_GTS.items() if vector & bit)
        if isinstance(control, NotMeasured):
            return supported, control
        return supported, speed_of(control & reg.EXP_LNKCTL2_TARGET_SPEED)

    # --- extended capabilities --------------------------------------------------------------

    def _extended(self, capability: int, register: int, size_bytes: int) -> int | NotMeasured:
        at = self.find(capability, extended=True)
        return at if isinstance(at, NotMeasured) else self.field(at + register, size_bytes)

    def errors(self) -> ErrorStatus | NotMeasured:
        """Advanced error reporting (PCI Express Base 5.0, 7.8.4); bits stay set until cleared."""
        return read_errors(self._extended)

    def lane_errors(self) -> tuple[int, ...] | NotMeasured:
        """Lanes whose error bit is set at this port (Lane Error Status, 7.7.3.3); sticky."""
        value = self._extended(reg.EXT_CAP_ID_SECONDARY, reg.SECONDARY_LANE_ERROR_STATUS, 4)
        return value if isinstance(value, NotMeasured) else lanes_of(value)

    def parity_mismatches(self) -> tuple[int, ...] | NotMeasured:
        """Lanes with a data parity mismatch at 16 GT/s and above (7.7.5.5); sticky."""
        value = self._extended(
            reg.EXT_CAP_ID_PHYSICAL_16GT, reg.PHYSICAL_16GT_PARITY_MISMATCH, 4
        )
        return value if isinstance(value, NotMeasured) else lanes_of(value)

    def equalization(self, speed_gts: float) -> Equalization | NotMeasured:
        """How equalisation at 8, 16 or 32 GT/s ended."""
        return read_equalization(speed_gts, self._express, self._extended)

    def lane_margining(self) -> LaneMargining | NotMeasured:
        """Whether this port can measure lane margins, and how ready it is."""
        at = self.find(reg.EXT_CAP_ID_MARGINING, extended=True)
        if isinstance(at, NotMeasured):
            return at
        able = self.field(at + reg.MARGINING_PORT_CAPABILITIES, 2)
        status = self.field(at + reg.MARGINING_PORT_STATUS, 2)
        if isinstance(able, NotMeasured):
            return able
        if isinstance(status, NotMeasured):
            return status
        return LaneMargining(at, bool(able & 1), bool(status & 1), bool(status & 2))

    def serial_number(self) -> str | NotMeasured:
        """The device serial number (7.9.3), as sixteen hex digits in groups of two."""
        at = self.find(reg.EXT_CAP_ID_SERIAL, extended=True)
        if isinstance(at, NotMeasured):
            return at
        low, high = self.field(at + 4, 4), self.field(at + 8, 4)
        if isinstance(low, NotMeasured):
            return low
        if isinstance(high, NotMeasured):
            return high
        return (high << 32 | low).to_bytes(8, "big").hex("-")
