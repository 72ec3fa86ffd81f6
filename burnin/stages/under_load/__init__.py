"""Hands and a meter at a held power: what resists shows as voltage and heat. Start with `stage.py`.

`asked.py` makes a prompt of a point and a reading of its answer, `course.py` asks one at a time,
`power_seen.py` tells the power meanwhile, `sense.py` what no answer can be.

Rule: a contact's resistance shows as the voltage across it and warms it (Ohm and Joule; contacts
are tried so: IEC 60512, tests 2a and 5a, from memory); a value is held against its limit with its
uncertainty (JCGM 106:2012); a pass needs the power that was asked for.
"""

from __future__ import annotations

from importlib.resources import files

from burnin.card.capabilities import DetectsDisplays, TellsRatings
from burnin.stages.kind import StageKind
from burnin.stages.under_load.settings import UnderLoad
from burnin.stages.under_load.stage import carry_out

_TAKES_S = 80.0
"""What a person takes for the points (estimate): four, a third of a minute each."""


def _expected_s(settings: UnderLoad) -> float:
    return settings.settle_s + _TAKES_S


KIND = StageKind(
    name="under_load",
    settings=UnderLoad,
    carry_out=carry_out,
    expected_s=_expected_s,
    capabilities=(TellsRatings, DetectsDisplays),
    needs_card=True,
    works=True,
    words=files(__name__),
    rule_from="the profile's limits; IEC 60512, tests 2a and 5a (from memory); JCGM 106:2012",
)
