"""NVML's return codes, and what they mean for somebody at the bench.

Numbers and names as in ``pynvml.py`` of nvidia-ml-py 13.615.71; a test compares them.
"""

from __future__ import annotations

from burnin.core.meaning import Reason, ReasonCode


class NvmlError(ReasonCode):
    """What NVML answers in place of a value."""

    NOT_STARTED = "nvml_error_not_started"
    STARTED_ALREADY = "nvml_error_started_already"
    WRONG_QUESTION = "nvml_error_wrong_question"
    NOT_SUPPORTED = "nvml_error_not_supported"
    NO_PERMISSION = "nvml_error_no_permission"
    NOT_FOUND = "nvml_error_not_found"
    ANSWER_TOO_LARGE = "nvml_error_answer_too_large"
    NO_EXTERNAL_POWER = "nvml_error_no_external_power"
    DRIVER_NOT_LOADED = "nvml_error_driver_not_loaded"
    NO_ANSWER_IN_TIME = "nvml_error_no_answer_in_time"
    INTERRUPTS_LOST = "nvml_error_interrupts_lost"
    LIBRARY_MISSING = "nvml_error_library_missing"
    FUNCTION_MISSING = "nvml_error_function_missing"
    INFORMATION_MEMORY_CORRUPT = "nvml_error_information_memory_corrupt"
    CARD_LOST = "nvml_error_card_lost"
    RESTART_NEEDED = "nvml_error_restart_needed"
    BLOCKED_BY_SYSTEM = "nvml_error_blocked_by_system"
    VERSIONS_DIFFER = "nvml_error_versions_differ"
    IN_USE = "nvml_error_in_use"
    OUT_OF_MEMORY = "nvml_error_out_of_memory"
    NO_DATA_NOW = "nvml_error_no_data_now"
    NO_ECC_IN_VIRTUAL_CARD = "nvml_error_no_ecc_in_virtual_card"
    TOO_FEW_RESOURCES = "nvml_error_too_few_resources"
    FREQUENCY_NOT_SUPPORTED = "nvml_error_frequency_not_supported"
    OTHER_FORM = "nvml_error_other_form"
    DEPRECATED = "nvml_error_deprecated"
    NOT_READY = "nvml_error_not_ready"
    NO_SUCH_CARD = "nvml_error_no_such_card"
    NOT_IN_THIS_STATE = "nvml_error_not_in_this_state"
    RESET_NOT_SUPPORTED = "nvml_error_reset_not_supported"
    UNEXPLAINED = "nvml_error_unexplained"
    UNKNOWN_CODE = "nvml_error_unknown_code", "number"


NOT_SUPPORTED = 3
FUNCTION_NOT_FOUND = 13
GPU_IS_LOST = 15
GPU_NOT_FOUND = 28

CODES: dict[int, NvmlError] = {
    1: NvmlError.NOT_STARTED,  # NVML_ERROR_UNINITIALIZED
    2: NvmlError.WRONG_QUESTION,  # NVML_ERROR_INVALID_ARGUMENT
    3: NvmlError.NOT_SUPPORTED,  # NVML_ERROR_NOT_SUPPORTED
    4: NvmlError.NO_PERMISSION,  # NVML_ERROR_NO_PERMISSION
    5: NvmlError.STARTED_ALREADY,  # NVML_ERROR_ALREADY_INITIALIZED
    6: NvmlError.NOT_FOUND,  # NVML_ERROR_NOT_FOUND
    7: NvmlError.ANSWER_TOO_LARGE,  # NVML_ERROR_INSUFFICIENT_SIZE
    8: NvmlError.NO_EXTERNAL_POWER,  # NVML_ERROR_INSUFFICIENT_POWER
    9: NvmlError.DRIVER_NOT_LOADED,  # NVML_ERROR_DRIVER_NOT_LOADED
    10: NvmlError.NO_ANSWER_IN_TIME,  # NVML_ERROR_TIMEOUT
    11: NvmlError.INTERRUPTS_LOST,  # NVML_ERROR_IRQ_ISSUE
    12: NvmlError.LIBRARY_MISSING,  # NVML_ERROR_LIBRARY_NOT_FOUND
    13: NvmlError.FUNCTION_MISSING,  # NVML_ERROR_FUNCTION_NOT_FOUND
    14: NvmlError.INFORMATION_MEMORY_CORRUPT,  # NVML_ERROR_CORRUPTED_INFOROM
    15: NvmlError.CARD_LOST,  # NVML_ERROR_GPU_IS_LOST
    16: NvmlError.RESTART_NEEDED,  # NVML_ERROR_RESET_REQUIRED
    17: NvmlError.BLOCKED_BY_SYSTEM,  # NVML_ERROR_OPERATING_SYSTEM
    18: NvmlError.VERSIONS_DIFFER,  # NVML_ERROR_LIB_RM_VERSION_MISMATCH
    19: NvmlError.IN_USE,  # NVML_ERROR_IN_USE
    20: NvmlError.OUT_OF_MEMORY,  # NVML_ERROR_MEMORY
    21: NvmlError.NO_DATA_NOW,  # NVML_ERROR_NO_DATA
    22: NvmlError.NO_ECC_IN_VIRTUAL_CARD,  # NVML_ERROR_VGPU_ECC_NOT_SUPPORTED
    23: NvmlError.TOO_FEW_RESOURCES,  # NVML_ERROR_INSUFFICIENT_RESOURCES
    24: NvmlError.FREQUENCY_NOT_SUPPORTED,  # NVML_ERROR_FREQ_NOT_SUPPORTED
    25: NvmlError.OTHER_FORM,  # NVML_ERROR_ARGUMENT_VERSION_MISMATCH
    26: NvmlError.DEPRECATED,  # NVML_ERROR_DEPRECATED
    27: NvmlError.NOT_READY,  # NVML_ERROR_NOT_READY
    28: NvmlError.NO_SUCH_CARD,  # NVML_ERROR_GPU_NOT_FOUND
    29: NvmlError.NOT_IN_THIS_STATE,  # NVML_ERROR_INVALID_STATE
    30: NvmlError.RESET_NOT_SUPPORTED,  # NVML_ERROR_RESET_TYPE_NOT_SUPPORTED
    999: NvmlError.UNEXPLAINED,  # NVML_ERROR_UNKNOWN
}


def why_refused(number: int) -> Reason:
    """The reason behind a return code."""
    code = CODES.get(number)
    return NvmlError.UNKNOWN_CODE(number=number) if code is None else code()
