"""What the kernel's log can say of a card, and why it cannot be read."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode, SourceCode


class KernelReason(ReasonCode):
    """What a line of the kernel's log means; `line` is the kernel's own, `address` as it names it.

    `address` is empty where a driver speaks without naming a device. `reasons` are those of the
    lines that count, each once.
    """

    BUS_ERROR = "kernel_bus_error", "address", "line"
    BUS_ERROR_CORRECTED = "kernel_bus_error_corrected", "address", "line"
    PORT_CONTAINED = "kernel_port_contained", "address", "line"
    LINK_DOWN = "kernel_link_down", "address", "line"
    CARD_NOT_PRESENT = "kernel_card_not_present", "address", "line"
    FOUND_ANEW = "kernel_found_anew", "address", "line"
    DEVICE_LOST = "kernel_device_lost", "address", "line"
    GPU_FAULT = "kernel_gpu_fault", "address", "line"
    WORK_TIMED_OUT = "kernel_work_timed_out", "address", "line"
    DRIVER_RESET = "kernel_driver_reset", "address", "line"
    DRIVER_FAULT_NUMBER = "kernel_driver_fault_number", "number", "address", "line"
    IOMMU_FAULT = "kernel_iommu_fault", "address", "line"
    ERROR_SAID = "kernel_error_said", "address", "line"
    LINES = "kernel_lines", "times_count", "reasons"
    LINES_LOST = "kernel_lines_lost", "lines_count"
    LOG_BROKE_OFF = "kernel_log_broke_off", "reason"
    LOG_UNREADABLE = "kernel_log_unreadable", "reasons"
    NO_JOURNAL = "kernel_no_journal"
    JOURNAL_SILENT = "kernel_journal_silent"
    JOURNAL_ENDED = "kernel_journal_ended", "words"
    NOT_THIS_MACHINE = "kernel_log_not_this_machine"


class KernelSource(SourceCode):
    """How the kernel's log was read."""

    LOG_FILE = "kernel_source_log_file"
    JOURNAL = "kernel_source_journal"
