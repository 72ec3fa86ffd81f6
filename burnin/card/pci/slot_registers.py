"""What a port says of the slot behind it: Slot Capabilities (PCI Express Base 5.0, 7.5.3.9)."""

from __future__ import annotations

from dataclasses import dataclass

from burnin.card.pci import registers as reg
from burnin.card.pci.config_space import ConfigurationSpace
from burnin.card.pci.reasons import ConfigReason
from burnin.core.reading import NotMeasured

_SCALES = (1.0, 0.1, 0.01, 0.001)
_ABOVE_239_W = {0xF0: 250.0, 0xF1: 275.0, 0xF2: 300.0}
"""Values that at scale 1 stand for themselves no more; what lies above is reserved."""


@dataclass(frozen=True)
class SlotRegisters:
    """A slot's number in its chassis, and the power that the host lets it take, in W.

    Number 0 and 0 W say nothing: a host that does not care leaves them there.
    """

    number: int
    power_limit_w: float | NotMeasured


def read_slot(space: ConfigurationSpace) -> SlotRegisters | NotMeasured:
    """The slot behind a port, or why there is none to be told of."""
    at = space.find(reg.CAP_ID_EXPRESS)
    if isinstance(at, NotMeasured):
        return at
    flags, slot = space.field(at + reg.EXP_FLAGS, 2), space.field(at + reg.EXP_SLTCAP, 4)
    if isinstance(flags, NotMeasured):
        return flags
    if not flags & reg.EXP_FLAGS_SLOT:
        return NotMeasured(ConfigReason.NO_SLOT())
    if isinstance(slot, NotMeasured):
        return slot
    return SlotRegisters(
        (slot & reg.EXP_SLTCAP_NUMBER) >> reg.EXP_SLTCAP_NUMBER_SHIFT, _power_w(slot)
    )


def _power_w(slot: int) -> float | NotMeasured:
    value = (slot & reg.EXP_SLTCAP_POWER_VALUE) >> reg.EXP_SLTCAP_POWER_VALUE_SHIFT
    scale = (slot & reg.EXP_SLTCAP_POWER_SCALE) >> reg.EXP_SLTCAP_POWER_SCALE_SHIFT
    if scale == 0 and value > 0xEF:
        found = _ABOVE_239_W.get(value)
        if found is None:
            return NotMeasured(ConfigReason.POWER_RESERVED(power_code=value))
        return found
    return value * _SCALES[scale]
