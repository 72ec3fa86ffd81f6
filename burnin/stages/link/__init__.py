"""The link trains at the lesser of card, slot and profile, and stays there. Start with `stage.py`.

Rule: widths and rates of the PCI Express base specification; its bit error rate of 1e-12 on every
lane, as quoted by Astera Labs (the specification itself was not at hand); bounds by the Poisson
distribution (`error_rate.py`).
"""

from __future__ import annotations

from importlib.resources import files

from burnin.card.capabilities import (
    CountsErrors,
    HasConfigurationSpace,
    ReportsLink,
    TellsPosition,
)
from burnin.stages.kind import StageKind
from burnin.stages.link.settings import LinkCheck
from burnin.stages.link.stage import carry_out, without_load


def _expected_s(settings: LinkCheck) -> float:
    return settings.idle_s + settings.load_s


KIND = StageKind(
    name="link",
    settings=LinkCheck,
    carry_out=carry_out,
    expected_s=_expected_s,
    capabilities=(HasConfigurationSpace, ReportsLink, CountsErrors, TellsPosition),
    needs_card=True,
    works=True,
    fills_link=True,
    words=files(__name__),
    rule_from="PCI Express base specification: width, rate, 1e-12 errors a bit on every lane",
    without_load=without_load,
)
