"""A result repeats to the bit while the card is loaded. Start with `stage.py`.

Rule: arithmetic is deterministic, so that any difference between repeats is a fault; a sample is
compared with the bench's processor (IEEE 754-2019 asks the same result of both).
"""

from __future__ import annotations

from importlib.resources import files

from burnin.stages.compute.settings import Compute
from burnin.stages.compute.stage import carry_out
from burnin.stages.kind import StageKind


def _expected_s(settings: Compute) -> float:
    return settings.load_s


KIND = StageKind(
    name="compute",
    settings=Compute,
    carry_out=carry_out,
    expected_s=_expected_s,
    capabilities=(),
    needs_card=False,
    works=True,
    words=files(__name__),
    rule_from="the same operations on the same numbers give the same bits (IEEE 754-2019)",
)
