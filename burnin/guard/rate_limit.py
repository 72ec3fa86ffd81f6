"""A GPU must not warm faster than any sound cooler would let it."""

from __future__ import annotations

from burnin.core.reading import known
from burnin.core.sample import Sample
from burnin.guard.guard import Expectation, Trip
from burnin.guard.kind import GuardFacts, GuardKind
from burnin.guard.meanings import GuardCause, GuardCheck, GuardReason
from burnin.guard.trend import Trend
from burnin.profile import guards as settings


class RateLimit:
    """Ends the load when the GPU warms faster than any sound cooler would let it."""

    name = "rate limit"

    def __init__(self, limit_c_per_s: float, window_s: float) -> None:
        self._limit = limit_c_per_s
        self._window_s = window_s
        self._trend = Trend(window_s)

    def judge(self, sample: Sample) -> Trip | None:
        """Trip on the mean rise over the window."""
        value = known(sample.telemetry.gpu_temp_c)
        if value is None:
            return None
        self._trend.add(sample.elapsed_s, value)
        rate = self._trend.mean_rise_per_s()
        if rate <= self._limit:
            return None
        reason = GuardReason.RISES_TOO_FAST(
            rise_k_per_s=rate, over_s=self._window_s, limit_k_per_s=self._limit
        )
        return Trip(
            self.name, "gpu_temp_c", rate, self._limit, reason,
            GuardCause.CONTACT(), GuardCheck.MOUNT(),
        )  # fmt: skip

    def expectation(self) -> Expectation | None:
        """None: a rate has no crossing to foresee."""
        return None


def _build(said: settings.RateLimit, _: GuardFacts) -> RateLimit:
    return RateLimit(said.temp_rate_limit_c_per_s, said.rate_window_s)


RATE_LIMIT = GuardKind(
    "rate_limit",
    settings.RateLimit,
    _build,
    "common practice, no source: a bare die warms by its power over its few J/K",
    60,
    needs=("gpu_temp_c",),
)
