"""Whether the hot spot's lead over the die goes away by itself while the power stands.

Missing paste makes a difference that stays as long as the power does. A sensor that lags makes one
after each step of power, and catches up.
"""

from __future__ import annotations

from dataclasses import dataclass

from burnin.core.reading import known
from burnin.core.sample import Sample

_FULL_SHARE = 0.5
_STANDS_WITHIN = 0.1
"""Share by which the power may change in a stretch: paste that is there warms with it."""
_LEAST_S = 20.0
_MOST_K = 12.0
_KEPT = 0.8
"""Share of the greatest difference that is left where a sensor catches up (estimate): that of paste
which is missing grows a little while the die warms."""
_SMOOTH_S = 3.0


@dataclass
class DifferenceWatch:
    """Follows the difference through stretches of one load; `passed` once it went away in one."""

    passed: bool = False
    _load: tuple[str, float] | None = None
    _since_s: float = 0.0
    _power_w: float | None = None
    _most_k: float = 0.0
    _now_k: float | None = None
    _at_s: float = 0.0

    def add(self, sample: Sample) -> None:
        """Take in one sample."""
        told = sample.telemetry
        die, spot, power = known(told.gpu_temp_c), known(told.hotspot_temp_c), known(told.power_w)
        if sample.load_share < _FULL_SHARE or sample.load_w is not None:
            self.end()
            return
        if die is None or spot is None or power is None:
            return
        if self._load != (sample.stage, sample.load_share) or not self._stands(power):
            self.end()
            self._load, self._since_s = (sample.stage, sample.load_share), sample.elapsed_s
            self._power_w = power
        self._follow(spot - die, sample.elapsed_s)

    def _stands(self, power_w: float) -> bool:
        first_w = self._power_w
        return first_w is not None and abs(power_w - first_w) <= _STANDS_WITHIN * first_w

    def _follow(self, over_k: float, at_s: float) -> None:
        """The greatest so far, and the present one smoothed over some seconds."""
        if self._now_k is None:
            self._now_k = over_k
        else:
            share = min(1.0, (at_s - self._at_s) / _SMOOTH_S)
            self._now_k += share * (over_k - self._now_k)
        self._at_s = at_s
        self._most_k = max(self._most_k, self._now_k)
        if at_s - self._since_s >= _LEAST_S and self._most_k >= _MOST_K:
            self.passed = self.passed or self._now_k <= _KEPT * self._most_k

    def end(self) -> None:
        """The load is over, or nobody watched for a while."""
        self._load, self._power_w, self._now_k, self._most_k = None, None, None, 0.0
