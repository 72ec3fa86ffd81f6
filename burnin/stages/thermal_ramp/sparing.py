"""Whether a card may be loaded further once a ramp has ended by its own plan.

A ramp that plans itself ends early where no higher power is safe: the coolant is not proven, or
the next step would cross a limit. So does any ramp that holds back on a warning. Work at full load
after that would meet what the ramp has just kept away from.
"""

from __future__ import annotations

from collections.abc import Sequence

from burnin.core.meaning import Reason
from burnin.core.reading import Reading, Verdict
from burnin.stages.thermal_ramp.meanings import ThermalRampReason
from burnin.stages.thermal_ramp.settings import ThermalRamp

_ON_WARNING = (ThermalRampReason.STEPPED_DOWN, ThermalRampReason.ENDED_ON_WARNING)
_BY_OWN_PLAN = (ThermalRampReason.ENDED_BY_PLAN, *_ON_WARNING)


def share_reached(settings: ThermalRamp, own_limit_w: float | None) -> float:
    """Share of full work, or of the card's own power, that a ramp which passed has held at most."""
    tops = [step.load_share or 0.0 for step in settings.steps]
    watts = [step.power_w or 0.0 for step in settings.steps]
    if settings.own_plan is not None:
        watts.append(settings.own_plan.top_w)
    if own_limit_w:
        tops.append(max(watts, default=0.0) / own_limit_w)
    return max(tops, default=0.0)


def spares_load(settings: ThermalRamp, readings: Sequence[Reading]) -> Reason | None:
    """Why stages after this one must not work the card; None where they may.

    A ramp of a block known to be dry ends by its joules as it should: what follows waits until the
    card is cool again, as its profile says.
    """
    plan = settings.own_plan
    if plan is not None and plan.no_loop:
        return None
    held_off = _ON_WARNING if plan is None else _BY_OWN_PLAN
    unreached = (r.reason for r in readings if r.verdict is Verdict.NOT_MEASURED)
    for why in unreached:
        if why is not None and why.means(*held_off):
            return ThermalRampReason.SPARED(reason=why)
    return None
