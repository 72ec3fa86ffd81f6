"""NVML's numbers by what they mean: reasons for lower clocks, counters by field id.

Numbers as in ``pynvml.py`` of nvidia-ml-py 13.615.71, named beside each.
"""

from __future__ import annotations

from dataclasses import dataclass

from burnin.core.sample import Slowdown

SLOWDOWNS: dict[int, tuple[Slowdown, ...]] = {
    0x0002: (Slowdown.CLOCKS_SET,),  # nvmlClocksEventReasonApplicationsClocksSetting
    0x0004: (Slowdown.POWER_LIMIT,),  # nvmlClocksEventReasonSwPowerCap
    0x0008: (Slowdown.HARDWARE,),  # nvmlClocksEventReasonHwSlowdown
    0x0010: (Slowdown.IN_STEP,),  # nvmlClocksEventReasonSyncBoost
    0x0020: (Slowdown.HEAT,),  # nvmlClocksEventReasonSwThermalSlowdown
    0x0040: (Slowdown.HEAT, Slowdown.HARDWARE),  # nvmlClocksEventReasonHwThermalSlowdown
    0x0080: (Slowdown.POWER_BRAKE,),  # nvmlClocksEventReasonHwPowerBrakeSlowdown
    0x0100: (Slowdown.DISPLAY_CLOCKS,),  # nvmlClocksEventReasonDisplayClockSetting
}
"""Bits of the clock event reasons. Idle (0x1, nvmlClocksEventReasonGpuIdle) slows nothing down
that is asked for, so it is no reason here."""


def slowdowns(bits: int) -> tuple[Slowdown, ...]:
    """The reasons whose bit is set, each once; a bit that is not known here is `UNKNOWN`."""
    found = [slowdown for bit, some in SLOWDOWNS.items() if bits & bit for slowdown in some]
    if bits & ~0x1 & ~sum(SLOWDOWNS):
        found.append(Slowdown.UNKNOWN)
    return tuple(dict.fromkeys(found))


@dataclass(frozen=True)
class CounterField:
    """A counter that NVML gives by field id; `modulus` None where its width is not documented."""

    field_id: int
    name: str
    modulus: int | None = None


LINK_COUNTERS: tuple[CounterField, ...] = (
    CounterField(94, "replays"),  # NVML_FI_DEV_PCIE_REPLAY_COUNTER
    CounterField(95, "replay number rollover"),  # NVML_FI_DEV_PCIE_REPLAY_ROLLOVER_COUNTER
    CounterField(169, "L0 to recovery"),  # NVML_FI_DEV_PCIE_L0_TO_RECOVERY_COUNTER
    CounterField(173, "correctable errors"),  # NVML_FI_DEV_PCIE_COUNT_CORRECTABLE_ERRORS
    CounterField(174, "NAKs received"),  # NVML_FI_DEV_PCIE_COUNT_NAKS_RECEIVED
    CounterField(175, "receiver error"),  # NVML_FI_DEV_PCIE_COUNT_RECEIVER_ERROR
    CounterField(176, "bad TLP"),  # NVML_FI_DEV_PCIE_COUNT_BAD_TLP
    CounterField(177, "NAKs sent"),  # NVML_FI_DEV_PCIE_COUNT_NAKS_SENT
    CounterField(178, "bad DLLP"),  # NVML_FI_DEV_PCIE_COUNT_BAD_DLLP
    CounterField(179, "non-fatal error"),  # NVML_FI_DEV_PCIE_COUNT_NON_FATAL_ERROR
    CounterField(180, "fatal error"),  # NVML_FI_DEV_PCIE_COUNT_FATAL_ERROR
    CounterField(181, "unsupported request"),  # NVML_FI_DEV_PCIE_COUNT_UNSUPPORTED_REQ
    CounterField(182, "LCRC error"),  # NVML_FI_DEV_PCIE_COUNT_LCRC_ERROR
    CounterField(183, "lane error"),  # NVML_FI_DEV_PCIE_COUNT_LANE_ERROR
    # Seen to wrap at 32 bits many times in 15 s of copying on a real card.
    CounterField(197, "bytes sent", 1 << 32),  # NVML_FI_DEV_PCIE_COUNT_TX_BYTES
    CounterField(198, "bytes received", 1 << 32),  # NVML_FI_DEV_PCIE_COUNT_RX_BYTES
)
MEMORY_COUNTERS: tuple[CounterField, ...] = (
    CounterField(3, "corrected since start"),  # NVML_FI_DEV_ECC_SBE_VOL_TOTAL
    CounterField(4, "uncorrected since start"),  # NVML_FI_DEV_ECC_DBE_VOL_TOTAL
    CounterField(5, "corrected ever"),  # NVML_FI_DEV_ECC_SBE_AGG_TOTAL
    CounterField(6, "uncorrected ever"),  # NVML_FI_DEV_ECC_DBE_AGG_TOTAL
    CounterField(142, "rows replaced after corrected errors"),  # NVML_FI_DEV_REMAPPED_COR
    CounterField(143, "rows replaced after uncorrected errors"),  # NVML_FI_DEV_REMAPPED_UNC
    CounterField(144, "rows waiting to be replaced"),  # NVML_FI_DEV_REMAPPED_PENDING
    CounterField(145, "rows that could not be replaced"),  # NVML_FI_DEV_REMAPPED_FAILURE
)

MEMORY_TEMP = 82  # NVML_FI_DEV_MEMORY_TEMP, °C
TOTAL_ENERGY = 83  # NVML_FI_DEV_TOTAL_ENERGY_CONSUMPTION, mJ since the driver was loaded
POWER_AVERAGE = 185  # NVML_FI_DEV_POWER_AVERAGE, mW
POWER_INSTANT = 186  # NVML_FI_DEV_POWER_INSTANT, mW

VALUE_BY_TYPE: dict[int, str] = {
    0: "dVal",  # NVML_VALUE_TYPE_DOUBLE
    1: "uiVal",  # NVML_VALUE_TYPE_UNSIGNED_INT
    2: "ulVal",  # NVML_VALUE_TYPE_UNSIGNED_LONG
    3: "ullVal",  # NVML_VALUE_TYPE_UNSIGNED_LONG_LONG
    4: "sllVal",  # NVML_VALUE_TYPE_SIGNED_LONG_LONG
    5: "siVal",  # NVML_VALUE_TYPE_SIGNED_INT
    6: "usVal",  # NVML_VALUE_TYPE_UNSIGNED_SHORT
}
"""Which member of a field's union holds its value."""
