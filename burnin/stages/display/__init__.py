"""Every output detects a screen and reads its EDID. Start with `stage.py`.

Rule: hot-plug detection as the driver tells it; EDID checked by VESA E-EDID Standard 1.4, release A
revision 2 (header, checksums, extension count).
"""

from __future__ import annotations

from importlib.resources import files

from burnin.card.capabilities import DetectsDisplays
from burnin.stages.display.settings import Display
from burnin.stages.display.stage import carry_out
from burnin.stages.kind import StageKind

KIND = StageKind(
    name="display",
    settings=Display,
    carry_out=carry_out,
    expected_s=lambda _: 0.0,
    capabilities=(DetectsDisplays,),
    needs_card=True,
    works=False,
    words=files(__name__),
    rule_from="VESA Enhanced EDID Standard 1.4, release A, revision 2",
)
