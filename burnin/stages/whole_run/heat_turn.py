"""Whether a die that was coming to rest began to rise anew while the load stood.

Under an even load a sound path of heat warms ever more slowly. Where the rise grows again something
stopped that had taken the heat away: a pump, a stream of air, a fan.
"""

from __future__ import annotations

from dataclasses import dataclass

from burnin.core.reading import known
from burnin.core.sample import Sample

_LEAST_SHARE = 0.5
_BUCKET_S = 5.0
_SETTLES_S = 5.0
_MORE_K = 1.5
"""By so much more than the least rise of a bucket the later ones must rise: sensors step by 1 K,
and a bucket is a mean of several (estimate)."""
_BUCKETS = 2
"""So many in a row."""


@dataclass
class HeatTurn:
    """Follows means of the die's temperature through one load; `turned` once a rise grew again."""

    turned: bool = False
    _load: tuple[str, float] | None = None
    _begin_s: float = 0.0
    _sum_c: float = 0.0
    _count: int = 0
    _mean_c: float | None = None
    _least_k: float | None = None
    _risen: int = 0

    def add(self, sample: Sample) -> None:
        """Take in one sample."""
        if not sample.present or sample.load_share < _LEAST_SHARE or sample.load_w is not None:
            self.end()
            return
        load = (sample.stage, sample.load_share)
        if load != self._load:
            self.end()
            self._load, self._begin_s = load, sample.elapsed_s + _SETTLES_S
        temp_c = known(sample.telemetry.gpu_temp_c)
        if temp_c is None or sample.elapsed_s < self._begin_s:
            return
        self._sum_c += temp_c
        self._count += 1
        if sample.elapsed_s - self._begin_s >= _BUCKET_S:
            self._bucket(self._sum_c / self._count)
            self._begin_s, self._sum_c, self._count = sample.elapsed_s, 0.0, 0

    def _bucket(self, mean_c: float) -> None:
        before_c, self._mean_c = self._mean_c, mean_c
        if before_c is None:
            return
        rise_k = mean_c - before_c
        least_k = self._least_k
        if least_k is not None and rise_k >= max(least_k, 0.0) + _MORE_K:
            self._risen += 1
            self.turned = self.turned or self._risen >= _BUCKETS
            return
        self._risen = 0
        self._least_k = rise_k if least_k is None else min(least_k, rise_k)

    def end(self) -> None:
        """The load is over, or nobody watched for a while."""
        self._load, self._mean_c, self._least_k = None, None, None
        self._sum_c, self._count, self._risen = 0.0, 0, 0
