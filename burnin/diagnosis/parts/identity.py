"""What explains a card that calls itself something else: firmware, another card, its configuration.

Weights are beliefs of a bench (estimate, no source).
"""

from __future__ import annotations

from burnin.core.meaning import Cause
from burnin.core.reading import Verdict
from burnin.diagnosis.meanings import IdentityFault
from burnin.record.reader import Record

ENUMERATION = "enumeration"
_TELLS = frozenset({"vendor_id", "device_id", "subsystem_id", "class_code", "firmware_version"})
_WEIGHTS = {
    IdentityFault.FIRMWARE: 0.50, IdentityFault.OTHER_MODEL: 0.32, IdentityFault.STRAPS: 0.10,
    IdentityFault.SOMETHING_ELSE: 0.08,
}  # fmt: skip


def explain_identity(record: Record) -> tuple[tuple[Cause, float], ...]:
    """Causes of a wrong identity, most probable first; empty where none was wrong."""
    kinds = {stage.stage: stage.kind for stage in record.run.stages}
    wrong = any(
        reading.verdict is Verdict.FAIL and reading.name in _TELLS
        for reading in record.readings
        if kinds.get(reading.stage) == ENUMERATION
    )
    return tuple((cause(), weight) for cause, weight in _WEIGHTS.items()) if wrong else ()
