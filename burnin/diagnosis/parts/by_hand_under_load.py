"""What explains a voltage or a temperature that a technician measured while the card worked.

Weights are beliefs of a bench (common practice, no source): what is lost between two probes on the
card is lost in its joint; at a plug the contacts come first, and either half may be worn; 12 V that
are low at the plug are low before the card.
"""

from __future__ import annotations

from burnin.core.meaning import Cause
from burnin.core.reading import Verdict, reading_subject
from burnin.diagnosis.meanings import SupplyFault
from burnin.record.reader import Record

_AT_JOINT = {
    SupplyFault.JOINT: 0.88, SupplyFault.ANY_CONTACT: 0.07, SupplyFault.SOMETHING_ELSE: 0.05,
}  # fmt: skip
_AT_PLUG = {
    SupplyFault.ANY_CONTACT: 0.72, SupplyFault.JOINT: 0.16, SupplyFault.UNIT: 0.06,
    SupplyFault.SOMETHING_ELSE: 0.06,
}  # fmt: skip
_SUPPLY = {
    SupplyFault.UNIT: 0.72, SupplyFault.ANY_CONTACT: 0.20, SupplyFault.SOMETHING_ELSE: 0.08,
}  # fmt: skip
_WEIGHTS = {
    "drop_at_joint_v": _AT_JOINT, "drop_at_plug_v": _AT_PLUG, "temp_at_joint_c": _AT_JOINT,
    "temp_at_plug_c": _AT_PLUG, "supply_at_plug_v": _SUPPLY,
}  # fmt: skip
"""By what was measured; what stands first decides."""


def explain_under_load(record: Record) -> tuple[tuple[Cause, float], ...]:
    """Causes of what failed under load by hand, most probable first; empty where nothing did."""
    failed = {
        reading_subject(reading.name)[0]
        for reading in record.readings
        if reading.verdict is Verdict.FAIL
    }
    for name, weights in _WEIGHTS.items():
        if name in failed:
            return tuple((cause(), weight) for cause, weight in weights.items())
    return ()
