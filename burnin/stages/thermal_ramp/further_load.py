"""Whether a card may be loaded further once a ramp has ended by its own plan.

A ramp that plans itself ends early where no higher power is safe: the coolant is not proven, or
the next step would cross a limit. Work at full load after that would meet what the ramp has just
kept away from.
"""

from __future__ import annotations

from collections.abc import Sequence

from burnin.core.reading import Reading, Verdict
from burnin.profile.ramp import ThermalRamp

ENDED_BY_PLAN = "the ramp ended by plan"
"""Begins the reason of what a ramp that ended itself has not reached."""


def no_more_load(settings: object, readings: Sequence[Reading]) -> str:
    """Why stages after this one must not work the card; nothing where they may.

    A ramp of a block known to be dry ends by its joules as it should: what follows waits until the
    card is cool again, as its profile says.
    """
    if not isinstance(settings, ThermalRamp) or settings.own_plan is None:
        return ""
    if settings.own_plan.no_loop:
        return ""
    unreached = (r for r in readings if r.verdict is Verdict.NOT_MEASURED)
    cut = next((r.reason for r in unreached if r.reason.startswith(ENDED_BY_PLAN)), "")
    return f"not begun, to spare the card: {cut}; put the cooling right first" if cut else ""
