"""What a line of the kernel's log means, by the words that the kernel's sources print.

Each pattern names the file of Linux (or the driver) whose words it knows; where the words have
changed, both are accepted. `counts`: a run in which it was said of the card under test is no pass.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from burnin.card.kernel_log.meanings import KernelReason
from burnin.core.meaning import Reason


@dataclass(frozen=True)
class Pattern:
    """Words that mean something; `source` is where they are printed."""

    code: KernelReason
    words: re.Pattern[str]
    counts: bool
    source: str


def _pattern(code: KernelReason, source: str, *words: str, counts: bool = True) -> Pattern:
    return Pattern(code, re.compile("|".join(f"(?:{w})" for w in words), re.ASCII), counts, source)


FAULT_NUMBER = re.compile(r"NVRM: Xid \([^)]*\): (\d{1,5})\b|\bXid:(\d{1,5})\b", re.ASCII)
"""The open kernel modules of NVIDIA's driver, and nouveau's GSP, number their faults."""
CLEANED_UP = 45
"""NVIDIA, "Xid errors": work was ended because its process was; the dead-man switch does that."""

PATTERNS: tuple[Pattern, ...] = (
    _pattern(
        KernelReason.BUS_ERROR, "drivers/pci/pcie/aer.c",
        r"severity=Uncorrect(?:ed|able)\b",
        r"Uncorrect(?:ed|able) \([\w-]+\) error (?:message )?received",
    ),
    _pattern(
        KernelReason.BUS_ERROR_CORRECTED, "drivers/pci/pcie/aer.c",
        r"severity=Correct(?:ed|able)\b",
        r"Correct(?:ed|able) error (?:message )?received",
        counts=False,
    ),
    _pattern(
        KernelReason.PORT_CONTAINED, "drivers/pci/pcie/dpc.c",
        r"DPC: containment event",
    ),
    _pattern(
        KernelReason.LINK_DOWN, "drivers/pci: hotplug/pciehp_ctrl.c, pcie/dpc.c, quirks.c",
        r"Slot\([^)]*\): Link Down",
        r"Data Link Layer Link Active not set in \d+ msec",
        r"broken device, retraining non-functional downstream link",
    ),
    _pattern(
        KernelReason.CARD_NOT_PRESENT, "drivers/pci/hotplug/pciehp_ctrl.c",
        r"Slot\([^)]*\): Card not present",
    ),
    _pattern(
        KernelReason.FOUND_ANEW, "drivers/pci/probe.c",
        r"^pci [0-9a-f:]+\.0: \[[0-9a-f]{4}:[0-9a-f]{4}\] type [0-9a-f]{2} class 0x",
    ),
    _pattern(
        KernelReason.DEVICE_LOST, "drivers/pci/pci.c; NVIDIA's open kernel modules; drm/amd",
        r"[Uu]nable to change power state from \S+ to \S+, device inaccessible",
        r"can't change power state from \S+ to \S+ \(config space inaccessible\)",
        r"not ready \d+ms after .*; giving up",
        r"has fallen off the bus",
        r"device (?:is )?lost from (?:the )?bus",
    ),
    _pattern(
        KernelReason.DRIVER_RESET,
        "drm/amd/amdgpu/amdgpu_device.c, amdgpu_job.c; drm/i915/gt/intel_reset.c;"
        " drm/xe/xe_gt.c, xe_guc_submit.c; drm/drm_drv.c",
        r"GPU reset(?:\(\d+\))? (?:begin|succeeded|failed|end)",
        r"\b(?:BACO|MODE[0-9]|mode[0-9]) reset\b",
        r"Ring \S+ reset (?:started|succeeded|failed)",
        r"\bResetting (?:chip|[a-z]+\d+) for\b",
        r"GT\d+: (?:trying reset|reset (?:queued|started|done|failed))",
        r"GT\d+: Engine reset:",
        r"device wedged, ",
    ),
    _pattern(
        KernelReason.WORK_TIMED_OUT,
        "drm/i915/i915_gpu_error.c; drm/amd/amdgpu/amdgpu_job.c; drm/xe/xe_guc_submit.c",
        r"GPU HANG\b",
        r"\bring \S+ timeout\b",
        r"\bTimedout job\b",
        r"fence wait (?:loop )?time(?:out|d out)",
    ),
    _pattern(
        KernelReason.GPU_FAULT,
        "drm/amd/amdgpu/gmc_v*.c, amdgpu_ras.c; drm/nouveau",
        r"\bpage fault \(src_id",
        r"uncorrectable hardware errors? detected",
        r"\bfifo: (?:fault|SCHED_ERROR)\b",
        r"\bMMU fault\b",
        r"\bgr: TRAP",
    ),
    _pattern(
        KernelReason.IOMMU_FAULT, "drivers/iommu/intel/dmar.c, drivers/iommu/amd/iommu.c",
        r"DMAR: \[DMA \w+[^\]]*\] Request device",
        r"Event logged \[IO_PAGE_FAULT\b",
    ),
)


DETAILS = re.compile(
    r"error status/mask=|: +\[ ?\d{1,2}\] \w|TLP Header:|Error of this Agent|\bin page starting at"
    r"|DPC: (?:unmasked|ERR_|RP PIO|exception)|GCVM_L2_PROTECTION|UTCL2|_FAULTS?: 0x",
    re.ASCII,
)
"""Lines that go on with a report whose first line is known (aer.c, dpc.c, amdgpu's gmc_*.c)."""


@dataclass(frozen=True)
class Meant:
    """What a line means, and whether it counts where it is of the card under test."""

    what: Reason
    counts: bool


def meant(text: str, address: str) -> Meant | None:
    """What a line means; `address` is the device of which it speaks. None: nothing known.

    >>> meant("NVRM: Xid (PCI:0000:01:00): 31, pid=4711, name=worker", "0000:01:00").what["number"]
    31
    """
    numbered = FAULT_NUMBER.search(text)
    if numbered is not None:
        number = int(numbered.group(1) or numbered.group(2))
        what = KernelReason.DRIVER_FAULT_NUMBER(number=number, address=address, line=text)
        return Meant(what, number != CLEANED_UP)
    for pattern in PATTERNS:
        if pattern.words.search(text):
            return Meant(pattern.code(address=address, line=text), pattern.counts)
    return None
