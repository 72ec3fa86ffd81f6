"""Error and equalisation registers, read through a function that finds a capability's register."""

from __future__ import annotations

from typing import Protocol

from burnin.card.pci import registers as reg
from burnin.card.pci.link_registers import Equalization, ErrorStatus, set_bits
from burnin.card.pci.reasons import ConfigReason
from burnin.core.reading import NotMeasured


class ExpressField(Protocol):
    """Reads a register of the PCI Express capability."""

    def __call__(self, register: int, size_bytes: int, /) -> int | NotMeasured:
        """The number of `size_bytes` bytes at that offset of the capability."""
        ...


class ExtendedField(Protocol):
    """Reads a register of an extended capability."""

    def __call__(self, capability: int, register: int, size_bytes: int, /) -> int | NotMeasured:
        """The number of `size_bytes` bytes at that offset of the capability."""
        ...


def read_errors(field: ExtendedField) -> ErrorStatus | NotMeasured:
    """Advanced error reporting (PCI Express Base 5.0, 7.8.4); bits stay set until cleared."""
    names: list[tuple[str, ...]] = []
    for register, bits in (
        (reg.ERR_UNCORRECTABLE_STATUS, reg.UNCORRECTABLE_BITS),
        (reg.ERR_CORRECTABLE_STATUS, reg.CORRECTABLE_BITS),
        (reg.ERR_UNCORRECTABLE_MASK, reg.UNCORRECTABLE_BITS),
        (reg.ERR_CORRECTABLE_MASK, reg.CORRECTABLE_BITS),
    ):
        value = field(reg.EXT_CAP_ID_ERRORS, register, 4)
        if isinstance(value, NotMeasured):
            return value
        names.append(set_bits(bits, value))
    return ErrorStatus(*names)


def read_equalization(
    speed_gts: float, express: ExpressField, extended: ExtendedField
) -> Equalization | NotMeasured:
    """How equalisation at 8, 16 or 32 GT/s ended."""
    status: int | NotMeasured
    if speed_gts == 8.0:
        status = express(reg.EXP_LNKSTA2, 2)
        status = status if isinstance(status, NotMeasured) else status >> 1
    elif speed_gts == 16.0:
        status = extended(reg.EXT_CAP_ID_PHYSICAL_16GT, reg.PHYSICAL_16GT_STATUS, 4)
    elif speed_gts == 32.0:
        status = extended(reg.EXT_CAP_ID_PHYSICAL_32GT, reg.PHYSICAL_32GT_STATUS, 4)
    else:
        return NotMeasured(ConfigReason.NO_EQUALIZATION_STATUS(speed_gts=speed_gts))
    if isinstance(status, NotMeasured):
        return status
    return Equalization(speed_gts, bool(status & 1), set_bits(reg.EQUALIZATION_BITS, status))
