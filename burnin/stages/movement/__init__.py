"""Joints that open by touch: the card is moved gently while its link works. Start with `stage.py`.

`places.py` says what is moved, `looks.py` sees what happens, `course.py` lays each event to the
movement during which it fell.

Rule: what leaves link, bus or screen while one place is moved comes from there (common practice, no
source; connectors are tried alike, by interruptions counted under vibration: IEC 60512, test 2e,
from memory); errors are held against 10^-12 a bit, as the link check holds them.
"""

from __future__ import annotations

from importlib.resources import files

from burnin.card.capabilities import CountsErrors, DetectsDisplays, ReportsLink
from burnin.stages.kind import StageKind
from burnin.stages.movement.settings import Movement
from burnin.stages.movement.stage import carry_out

_TAKES_S = 12.0
"""What a person takes for one place (estimate)."""
_SCREENS = 4
"""Cables taken for the forecast; how many screens there are is known at the bench alone."""


def _expected_s(settings: Movement) -> float:
    screens = _SCREENS if "screen_cables" in settings.places else 0
    plugs = settings.power_plugs if "power_plugs" in settings.places else 0
    others = len({"free_end", "edge"} & set(settings.places))
    return settings.still_s + (screens + plugs + others) * _TAKES_S


KIND = StageKind(
    name="movement",
    settings=Movement,
    carry_out=carry_out,
    expected_s=_expected_s,
    capabilities=(ReportsLink, CountsErrors, DetectsDisplays),
    needs_card=True,
    works=True,
    fills_link=True,
    words=files(__name__),
    rule_from="common practice of the repair bench; IEC 60512, test 2e (from memory)",
)
