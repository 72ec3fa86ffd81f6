"""The guards of a run, fitted from a profile and the card's own sensors."""

from __future__ import annotations

from typing import TYPE_CHECKING

from burnin.core.sample import Resolution
from burnin.guard.guard import Guard
from burnin.guard.limits import HeatThrottle, RateLimit, SustainedOver, TemperatureLimit
from burnin.guard.liveness import LostCard, StaleData

if TYPE_CHECKING:
    from burnin.profile.model import Guards
    from burnin.thermal.states import CooledBy


def _forecast(settings: Guards, resolution: Resolution) -> Guard:
    """The guard that identifies the cooling; it aims below what the simple guards allow."""
    from burnin.guard.forecast_guard import ForecastGuard
    from burnin.thermal.estimator import Setup
    from burnin.thermal.forecast import Limits

    spot_c = settings.hotspot_temp_limit_c
    margin_c = settings.temp_margin_c
    limits = Limits(
        settings.gpu_temp_limit_c - margin_c, None if spot_c is None else spot_c - margin_c
    )
    return ForecastGuard(
        Setup(limits, temp_step_c=resolution.temp_c, cooled_by=cooled_by(settings))
    )


def cooled_by(settings: Guards) -> CooledBy | None:
    """What the profile says of the cooling; None where it is silent."""
    from burnin.thermal.states import CooledBy

    return None if settings.cooling is None else CooledBy(settings.cooling)


def fit_guards(settings: Guards, resolution: Resolution) -> tuple[Guard, ...]:
    """Every guard that the profile asks for, the most certain first."""
    guards: list[Guard] = [LostCard(), StaleData(settings.stale_after_s)]
    if settings.forecast:
        guards.append(_forecast(settings, resolution))
    limits = {
        "gpu_temp_c": settings.gpu_temp_limit_c,
        "hotspot_temp_c": settings.hotspot_temp_limit_c,
        "memory_temp_c": settings.memory_temp_limit_c,
    }
    for signal, limit_c in limits.items():
        if limit_c is not None:
            guards.append(
                TemperatureLimit(
                    signal,
                    limit_c,
                    margin_c=settings.temp_margin_c,
                    lag_s=settings.sensor_lag_s,
                    latency_s=settings.stop_latency_s,
                    step_c=resolution.temp_c,
                )
            )
    guards.append(RateLimit(settings.temp_rate_limit_c_per_s, settings.rate_window_s))
    if settings.hotspot_delta_limit_k is not None:
        guards.append(
            SustainedOver(
                "hot spot over GPU",
                "hotspot_delta_k",
                settings.hotspot_delta_limit_k,
                "K",
                2.0,
                "paste or mount over the die's hot spot",
                "Take the cooler off: is the print of the paste whole?",
            )
        )
    if settings.power_limit_w is not None:
        guards.append(
            SustainedOver(
                "board power",
                "power_w",
                settings.power_limit_w,
                "W",
                1.0,
                "supply stage of the card, or a profile for a smaller card",
                "Is this the right profile? Measure the supplies to ground before the next try.",
            )
        )
    if settings.stop_on_heat_throttle:
        guards.append(HeatThrottle())
    return tuple(guards)
