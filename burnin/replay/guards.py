"""The guards that judge a record: the one that forecasts, and the simple ones behind it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from burnin.core.sample import Resolution
from burnin.guard.guard import Guard

if TYPE_CHECKING:
    from burnin.guard.forecast_guard import ForecastGuard
    from burnin.profile.model import Guards
    from burnin.replay.recording_file import Record, Settings
    from burnin.thermal.states import CooledBy

DEFAULT_LIMIT_C = 90.0
"""Where neither record nor profile names a limit."""
MARGIN_C, LAG_S, LATENCY_S = 1.5, 0.3, 0.2
"""The simple guards' margin (half a sensor step comes on top), lag and latency."""
HARD_RATE_C_PER_S, RATE_WINDOW_S = 15.0, 3.0
STALE_AFTER_S = 5.0


def guards_for(record: Record, limits: Guards | None) -> tuple[ForecastGuard, Sequence[Guard]]:
    """The forecast guard for this record, and the simple ones that stand behind it."""
    from burnin.guard.factory import fit_guards
    from burnin.guard.forecast_guard import ForecastGuard
    from burnin.thermal.estimator import Setup, plan_of
    from burnin.thermal.forecast import Limits

    said = record.settings
    die_c = said.limit_c
    spot_c = said.hotspot_limit_c
    if limits is not None:
        die_c = limits.gpu_temp_limit_c if die_c is None else die_c
        spot_c = limits.hotspot_temp_limit_c if spot_c is None else spot_c
    die_c = DEFAULT_LIMIT_C if die_c is None else die_c
    plan = None if said.plan is None else plan_of(said.plan)
    spot_seen = spot_c if record.has("hotspot_temp_c") else None
    setup = Setup(
        Limits(die_c, spot_seen), plan, said.ambient_c, cooled_by=_cooled_by(said, limits)
    )
    if limits is not None:
        changed = {"gpu_temp_limit_c": die_c, "hotspot_temp_limit_c": spot_c}
        fitted = fit_guards(limits.model_copy(update=changed), Resolution())
    else:
        fitted = simple_guards(die_c, spot_seen)
    return ForecastGuard(setup), fitted


def _cooled_by(said: Settings, limits: Guards | None) -> CooledBy | None:
    """What the record says, else the profile; of a record, `cooling` goes before `has_fan`."""
    from burnin.guard.factory import cooled_by
    from burnin.thermal.states import CooledBy

    if said.cooling is not None:
        return CooledBy(said.cooling)
    if said.has_fan is not None:
        return CooledBy.FANS if said.has_fan else CooledBy.WATER
    return None if limits is None else cooled_by(limits)


def simple_guards(die_c: float, hotspot_c: float | None) -> tuple[Guard, ...]:
    """Limit less margin, hard rate, stale or stuck data, lost card: independent of any model.

    A record's power may be as smooth as its plan: that nothing moves is no sign of a frozen
    reader there, only a temperature that does not answer to power is.
    """
    from burnin.guard.limits import RateLimit, TemperatureLimit
    from burnin.guard.liveness import LostCard, StaleData
    from burnin.guard.stuck_sensor import StuckSensor

    named = (("gpu_temp_c", die_c), ("hotspot_temp_c", hotspot_c))
    return (
        LostCard(),
        StaleData(STALE_AFTER_S),
        StuckSensor(),
        *(
            TemperatureLimit(
                signal, limit, margin_c=MARGIN_C, lag_s=LAG_S, latency_s=LATENCY_S, step_c=1.0
            )
            for signal, limit in named
            if limit is not None
        ),
        RateLimit(HARD_RATE_C_PER_S, RATE_WINDOW_S),
    )
