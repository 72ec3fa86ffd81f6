"""The link is judged at each of several cold starts. Start with `stage.py`.

Rule: a start is proven by the kernel's boot id and uptime (Linux Documentation/admin-guide/sysctl/
kernel.rst and filesystems/proc.rst); its link is judged as the link check judges it. The log of
starts (`start_log.py`) is a ticket's where there is one; whoever begins the run says where it lies.
"""

from __future__ import annotations

from importlib.resources import files

from burnin.card.capabilities import (
    CountsErrors,
    HasConfigurationSpace,
    ReportsLink,
    TellsPosition,
)
from burnin.stages.cold_starts.settings import ColdStarts
from burnin.stages.cold_starts.stage import IDLE_S, carry_out
from burnin.stages.kind import StageKind


def _expected_s(settings: ColdStarts) -> float:
    return IDLE_S + settings.load_s


KIND = StageKind(
    name="cold_starts",
    settings=ColdStarts,
    carry_out=carry_out,
    expected_s=_expected_s,
    capabilities=(HasConfigurationSpace, ReportsLink, CountsErrors, TellsPosition),
    needs_card=True,
    works=True,
    fills_link=True,
    words=files(__name__),
    rule_from="boot id and uptime of the Linux kernel; the rules of the link check at each start",
    goes_on_after_end=True,
)
