"""NVML's numbers in plain words: error codes, reasons for lower clocks, counters by field id.

Numbers as in ``pynvml.py`` of nvidia-ml-py 13.615.71, named beside each.
"""

from __future__ import annotations

from dataclasses import dataclass

from burnin.core.sample import HEAT_THROTTLE

NOT_SUPPORTED = 3
FUNCTION_NOT_FOUND = 13
GPU_IS_LOST = 15
GPU_NOT_FOUND = 28

REASONS: dict[int, str] = {
    1: "NVML was not started",  # NVML_ERROR_UNINITIALIZED
    2: "NVML does not accept the question",  # NVML_ERROR_INVALID_ARGUMENT
    3: "the card does not support it",  # NVML_ERROR_NOT_SUPPORTED
    4: "no permission to read it; run as root",  # NVML_ERROR_NO_PERMISSION
    6: "NVML does not find it",  # NVML_ERROR_NOT_FOUND
    7: "NVML's answer is larger than expected",  # NVML_ERROR_INSUFFICIENT_SIZE
    8: "the card lacks external power: check its power plugs",  # NVML_ERROR_INSUFFICIENT_POWER
    9: "the NVIDIA driver is not loaded",  # NVML_ERROR_DRIVER_NOT_LOADED
    10: "the card did not answer the driver in time",  # NVML_ERROR_TIMEOUT
    11: "the card's interrupts do not arrive",  # NVML_ERROR_IRQ_ISSUE
    12: "the NVML library is not installed",  # NVML_ERROR_LIBRARY_NOT_FOUND
    13: "this driver's NVML does not have it",  # NVML_ERROR_FUNCTION_NOT_FOUND
    14: "the card's information memory is corrupt",  # NVML_ERROR_CORRUPTED_INFOROM
    15: "the card is lost: it no longer answers the driver",  # NVML_ERROR_GPU_IS_LOST
    16: "the card needs a restart before it answers",  # NVML_ERROR_RESET_REQUIRED
    17: "the operating system blocked the question",  # NVML_ERROR_OPERATING_SYSTEM
    18: "NVML and the driver are of different versions",  # NVML_ERROR_LIB_RM_VERSION_MISMATCH
    19: "the card is in use",  # NVML_ERROR_IN_USE
    20: "NVML ran out of memory",  # NVML_ERROR_MEMORY
    21: "NVML has no data for it now",  # NVML_ERROR_NO_DATA
    25: "this driver's NVML does not have it in this form",  # NVML_ERROR_ARGUMENT_VERSION_MISMATCH
    26: "this driver's NVML no longer has it",  # NVML_ERROR_DEPRECATED
    27: "the card is not ready",  # NVML_ERROR_NOT_READY
    28: "NVML sees no such card",  # NVML_ERROR_GPU_NOT_FOUND
    29: "the card is in a state that does not allow it",  # NVML_ERROR_INVALID_STATE
    999: "NVML failed without saying why",  # NVML_ERROR_UNKNOWN
}

CLOCK_REASONS: dict[int, tuple[str, ...]] = {
    0x0002: ("clocks set by a program or a person",),  # nvmlClocksEventReasonApplications…
    0x0004: ("power limit",),  # nvmlClocksEventReasonSwPowerCap
    0x0008: ("slowed by hardware",),  # nvmlClocksEventReasonHwSlowdown
    0x0010: ("kept in step with other cards",),  # nvmlClocksEventReasonSyncBoost
    0x0020: (HEAT_THROTTLE,),  # nvmlClocksEventReasonSwThermalSlowdown
    0x0040: (HEAT_THROTTLE, "slowed by hardware"),  # nvmlClocksEventReasonHwThermalSlowdown
    0x0080: ("power brake from outside",),  # nvmlClocksEventReasonHwPowerBrakeSlowdown
    0x0100: ("clocks set for the display",),  # nvmlClocksEventReasonDisplayClockSetting
}
"""Bits of the clock event reasons. Idle (0x1, nvmlClocksEventReasonGpuIdle) slows nothing down
that is asked for, so it is no reason here."""


def clock_reasons(bits: int) -> tuple[str, ...]:
    """Words for the reasons whose bit is set, each once; an unknown bit is named by its number."""
    words = [word for bit, some in CLOCK_REASONS.items() if bits & bit for word in some]
    unknown = bits & ~0x1 & ~sum(CLOCK_REASONS)
    if unknown:
        words.append(f"reason 0x{unknown:x}, not known here")
    return tuple(dict.fromkeys(words))


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
