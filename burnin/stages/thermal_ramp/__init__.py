"""Load is raised in steps, held, and taken away; temperatures are judged. Start with `stage.py`.

`stepped_ramp.py` and `own_ramp.py` climb; `*_readings.py` judge what `ramp_trace.py` has collected.

Rule: limits are the profile's; the response of one thermal resistance and capacity (lumped
capacitance, Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, chapter 5), and the
model of the cooling in `burnin.thermal`.
"""

from __future__ import annotations

from importlib.resources import files

from burnin.card.capabilities import CountsFans, ReadsTelemetry, TellsRatings
from burnin.stages.kind import StageKind
from burnin.stages.thermal_ramp.settings import ThermalRamp
from burnin.stages.thermal_ramp.sparing import spares_load
from burnin.stages.thermal_ramp.stage import IDLE_S, carry_out, longest_s


def _expected_s(settings: ThermalRamp) -> float:
    return IDLE_S + longest_s(settings) + settings.cool_down_s


KIND = StageKind(
    name="thermal_ramp",
    settings=ThermalRamp,
    carry_out=carry_out,
    expected_s=_expected_s,
    capabilities=(ReadsTelemetry, CountsFans, TellsRatings),
    needs_card=True,
    works=True,
    words=files(__name__),
    rule_from="the profile's limits; Incropera and DeWitt, Fundamentals of Heat and Mass Transfer",
    spares_load=spares_load,
)
