"""What memory patterns, test areas and units of work can mean."""

from __future__ import annotations

from enum import StrEnum

from burnin.core.meaning import ReasonCode, TermCode


class PatternReason(ReasonCode):
    """Why there is no such pattern."""

    UNKNOWN = "pattern_unknown", "pattern", "known"
    NO_SUCH_STEP = "pattern_no_such_step", "pattern", "last_step", "step"


class AreaReason(ReasonCode):
    """Why there is no memory to test."""

    WRONG_SHARE = "area_wrong_share", "share"
    NONE_FREE = "area_none_free", "free_bytes"
    NONE_GIVEN = "area_none_given", "asked_bytes", "smallest_piece_bytes"


class PreparingReason(ReasonCode):
    """Why a job ended that had not loaded the card."""

    STOPPED = "preparing_stopped"


class WorkTerm(TermCode):
    """Names of the arithmetic that loads a card, and of the blocks that are copied.

    ``BLOCKS`` is in records of earlier versions alone.
    """

    MATRIX_PRODUCTS_BF16 = "work_matrix_products_bf16"
    FUSED_MULTIPLY_ADD_FP32 = "work_fused_multiply_add_fp32"
    MIXED_WORK = "work_mixed"
    PINNED_BLOCKS = "work_pinned_blocks", "kib"
    BLOCKS = "work_blocks", "mib"
    KERNEL_BLOCKS = "work_kernel_blocks", "mib"
    COPIED_BLOCKS = "work_copied_blocks", "mib"
    STAGED_BLOCKS = "work_staged_blocks", "mib"


class FaultClass(StrEnum):
    """Faults of memory that a pattern can find; the values are the trade's names."""

    STUCK_AT = "stuck-at"
    TRANSITION = "transition"
    ADDRESS_DECODER = "address decoder"
    BRIDGE_OF_CELLS = "bridge between neighbouring cells"
    BRIDGE_OF_DATA_LINES = "bridge between data lines"
    LEAKAGE = "leakage"
    COUPLING_IN_WORD = "coupling within a word"
    COUPLING_OF_WORDS = "coupling between words"
    PATTERN_SENSITIVE = "pattern-sensitive coupling"
    COUPLING = "inversion, idempotent and state coupling"
    ROW_DISTURBANCE = "disturbance by repeated row activation"
    RETENTION = "data retention"
