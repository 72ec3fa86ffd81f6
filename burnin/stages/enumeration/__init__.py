"""The card is there, as itself. Start with `stage.py`.

Rule: ids as the PCI Local Bus Specification 3.0 orders them (6.2.1), against those of the profile.
"""

from __future__ import annotations

from importlib.resources import files

from burnin.card.capabilities import Enumerates, HasConfigurationSpace
from burnin.stages.enumeration.settings import Enumeration
from burnin.stages.enumeration.stage import carry_out
from burnin.stages.kind import StageKind

KIND = StageKind(
    name="enumeration",
    settings=Enumeration,
    carry_out=carry_out,
    expected_s=lambda _: 0.0,
    capabilities=(Enumerates, HasConfigurationSpace),
    needs_card=True,
    works=False,
    words=files(__name__),
    rule_from="PCI Local Bus Specification 3.0, 6.2.1 and appendix D (ids, class codes)",
)
