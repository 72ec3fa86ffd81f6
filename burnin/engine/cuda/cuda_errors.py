"""CUDA's error numbers, and what they mean for somebody at the bench.

Numbers as in enum cudaError of the CUDA Runtime API (``driver_types.h`` 13.5), which the driver API
shares; a test walks all of them.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from burnin.core.errors import DeviceLost, EngineError, ReasonedError
from burnin.core.meaning import NoteCode, ReasonCode
from burnin.engine.device.area import OutOfCardMemory
from burnin.engine.meanings import EngineReason


class CudaReason(ReasonCode):
    """Why CUDA does not do what it was asked; `words` are CUDA's own."""

    OTHER_VENDOR = "cuda_other_vendor", "vendor_id", "cuda_vendor_id"
    NO_PACKAGE = "cuda_no_package"
    NOT_USABLE = "cuda_not_usable", "words"
    CARD_NOT_OPENED = "cuda_card_not_opened", "address", "reason"
    NO_MATRIX_LIBRARY = "cuda_no_matrix_library", "words"
    NO_MATRIX_UNITS = "cuda_no_matrix_units"
    PRODUCT_REFUSED = "cuda_product_refused", "words"

    OUT_OF_MEMORY = "cuda_out_of_memory", "words"
    WRONG_CALL = "cuda_wrong_call", "words"
    NOT_STARTED = "cuda_not_started", "words"
    DRIVER_TOO_OLD = "cuda_driver_too_old", "words"
    VERSIONS_DIFFER = "cuda_versions_differ", "words"
    NO_SUCH_CARD = "cuda_no_such_card", "words"
    CARD_TAKEN = "cuda_card_taken", "words"
    NOT_PERMITTED = "cuda_not_permitted", "words"
    NOT_SUPPORTED = "cuda_not_supported", "words"
    NOT_READY = "cuda_not_ready", "words"
    KERNEL_UNUSABLE = "cuda_kernel_unusable", "words"
    KERNEL_TOO_LARGE = "cuda_kernel_too_large", "words"
    BENCH_REFUSES = "cuda_bench_refuses", "words"
    SHARING_SERVICE = "cuda_sharing_service", "words"
    UNKNOWN_NUMBER = "cuda_unknown_number", "number", "words"

    CARD_UNREACHABLE = "cuda_card_unreachable", "words"
    MEMORY_UNCORRECTABLE = "cuda_memory_uncorrectable", "words"
    BRIDGE_UNCORRECTABLE = "cuda_bridge_uncorrectable", "words"
    ERROR_CONTAINED = "cuda_error_contained", "words"
    ILLEGAL_ADDRESS = "cuda_illegal_address", "words"
    ILLEGAL_INSTRUCTION = "cuda_illegal_instruction", "words"
    STACK_BROKEN = "cuda_stack_broken", "words"
    KERNEL_TOOK_TOO_LONG = "cuda_kernel_took_too_long", "words"
    KERNEL_FAILED = "cuda_kernel_failed", "words"
    CONTEXT_GONE = "cuda_context_gone", "words"
    UNEXPLAINED = "cuda_unexplained", "words"


class CudaNote(NoteCode):
    """Why this card."""

    BY_ADDRESS = "cuda_opened_by_address", "address"


_NUMBERS: dict[CudaReason, tuple[int, ...]] = {
    CudaReason.WRONG_CALL: (
        *(1, 5, 6, 7, 8, 12, 13, 16, 17, 18, 19, 20, 21, 22, 23, 24, 25, 26, 27, 28, 37, 43, 44),
        *(45, 52, 65, 66, 67, 68, 69, 205, 206, 207, 208, 210, 211, 212, 213, 219, 400, 401, 402),
        *(703, 704, 705, 708, 711, 712, 713, 900, 901, 902, 903, 904, 905, 906, 907, 908, 909, 910),
        *(911, 914, 915, 917, 918),
    ),
    CudaReason.OUT_OF_MEMORY: (2, 32),
    CudaReason.NOT_STARTED: (3, 4, 127, 201),
    CudaReason.DRIVER_TOO_OLD: (34, 35, 36),
    CudaReason.VERSIONS_DIFFER: (10, 49, 227, 803, 804, 812),
    CudaReason.NO_SUCH_CARD: (101,),
    CudaReason.CARD_TAKEN: (216,),
    CudaReason.NOT_PERMITTED: (102, 103, 800),
    CudaReason.NOT_SUPPORTED: (31, 215, 217, 224, 225, 801, 811),
    CudaReason.NOT_READY: (600, 802, 919),
    CudaReason.KERNEL_UNUSABLE: (98, 200, 209, 218, 221, 222, 223, 300, 500, 913),
    CudaReason.KERNEL_TOO_LARGE: (9, 701, 720, 912),
    CudaReason.BENCH_REFUSES: (301, 302, 303, 304),
    CudaReason.SHARING_SERVICE: (805, 806, 807, 808, 809, 810),
    CudaReason.CARD_UNREACHABLE: (46, 100),
    CudaReason.MEMORY_UNCORRECTABLE: (214,),
    CudaReason.BRIDGE_UNCORRECTABLE: (220,),
    CudaReason.ERROR_CONTAINED: (226,),
    CudaReason.ILLEGAL_ADDRESS: (700, 716, 717),
    CudaReason.ILLEGAL_INSTRUCTION: (715, 718),
    CudaReason.STACK_BROKEN: (714, 721),
    CudaReason.KERNEL_TOOK_TOO_LONG: (702,),
    CudaReason.KERNEL_FAILED: (53, 710, 719),
    CudaReason.CONTEXT_GONE: (709,),
    CudaReason.UNEXPLAINED: (999,),
}
CODES: Mapping[int, CudaReason] = MappingProxyType(
    {number: code for code, numbers in _NUMBERS.items() for number in numbers}
)
"""What each error number means."""

LOST = frozenset({
    CudaReason.CARD_UNREACHABLE,
    CudaReason.MEMORY_UNCORRECTABLE,
    CudaReason.BRIDGE_UNCORRECTABLE,
    CudaReason.ERROR_CONTAINED,
    CudaReason.ILLEGAL_ADDRESS,
    CudaReason.ILLEGAL_INSTRUCTION,
    CudaReason.STACK_BROKEN,
    CudaReason.KERNEL_TOOK_TOO_LONG,
    CudaReason.KERNEL_FAILED,
    CudaReason.CONTEXT_GONE,
    CudaReason.UNEXPLAINED,
})
"""After these the card does no more work for this process."""


def refused(number: int, words: str) -> ReasonedError:
    """The error of ours behind one of CUDA's: OutOfCardMemory, DeviceLost or EngineError."""
    code = CODES.get(number)
    if code is None:
        return EngineError(CudaReason.UNKNOWN_NUMBER(number=number, words=words))
    if code is CudaReason.OUT_OF_MEMORY:
        return OutOfCardMemory(code(words=words))
    if code in LOST:
        return DeviceLost(EngineReason.CARD_LOST(how=code(words=words)))
    return EngineError(code(words=words))
