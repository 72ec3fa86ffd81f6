"""Full arithmetic work whose every result is compared, beside other work on the same card."""

from __future__ import annotations

import math
import time
from collections.abc import Iterator

from burnin.engine.compute.arithmetic_load import FIRST_OF_MIX
from burnin.engine.compute.mix_trial import MixTrial
from burnin.engine.device.slices import Pipeline, Scale, SliceSize
from burnin.engine.device.units import ArithmeticUnit, ComparesResults, OffersMixes
from burnin.engine.job import LoadResult
from burnin.engine.work import LoadShare

_POWER_WITHIN_S = 2.0
"""A power reading that has not come by then never will: the first mix is worked."""


class CheckedLoad:
    """See `burnin.engine.work.Work`; the unit is one of `ComparesResults`.

    While slices are learnt (it works alone) the mix is found that draws most power.
    """

    def __init__(
        self, unit: ArithmeticUnit, share: LoadShare, scale: Scale, mix: int = -1
    ) -> None:
        """`mix`: the one that is known to draw most power; below 0: it is found."""
        self._unit, self._share, self._scale = unit, share, scale
        self.pipeline: Pipeline[None] = Pipeline()
        self._size = SliceSize(1, 1, 1 << 30, scale=scale)
        mixes = unit.mixes if isinstance(unit, OffersMixes) else 1
        known = 0 <= mix < mixes
        self._trial = MixTrial(1 if known else mixes)
        self._several, self._mix = mixes > 1, mix if known else 0
        if isinstance(unit, OffersMixes) and known:
            unit.use(mix)
        self._began_s = time.perf_counter()
        self.operations = 0.0

    @property
    def mix(self) -> int:
        """The mix that is worked; -1 where there is only one."""
        return self._mix if self._several else -1

    @property
    def wrong_results(self) -> int:
        """Results so far that were not what they were at first."""
        return self._unit.wrong_results if isinstance(self._unit, ComparesResults) else 0

    @property
    def settled(self) -> bool:
        """Whether the mix is chosen, or there is nothing to choose it by."""
        waited_s = time.perf_counter() - self._began_s
        return self._trial.done or (self._share.power_w is None and waited_s > _POWER_WITHIN_S)

    def slices(self) -> Iterator[float]:
        """Work without end."""
        self._began_s = time.perf_counter()
        try:
            while True:
                self.pipeline.make_room()
                yield 0.0
                self._choose_mix()
                self._push(self._size.amount())
        finally:
            self.pipeline.abandon()

    def _choose_mix(self) -> None:
        unit = self._unit
        if not self._scale.learns or self._trial.done or not isinstance(unit, OffersMixes):
            return
        mix = self._trial.see(time.perf_counter(), full=True, power_w=self._share.power_w)
        if mix != self._mix:
            self.pipeline.drain()
            unit.use(mix)
            self._mix = mix
            first = self._size.amount(FIRST_OF_MIX)
            self._size = SliceSize(first, 1, 1 << 30, scale=self._scale)

    def _push(self, rounds: int) -> None:
        operations = rounds * self._unit.operations_per_round

        def settle(_: None, seconds: float) -> None:
            if not math.isnan(seconds):
                self._size.took(rounds, seconds)
            self.operations += operations

        self.pipeline.push(self._unit.work(rounds), settle)

    def paused(self) -> None:
        """The next slice was kept waiting."""
        self.pipeline.paused()

    def settle(self) -> None:
        """Wait for what is queued and take in what it found."""
        self.pipeline.drain()

    def result(self) -> LoadResult:
        """Operations done until now."""
        return LoadResult(
            time.perf_counter() - self._began_s, self.operations, self.pipeline.longest_slice_s
        )

    def release(self) -> None:
        """Give its memory back."""
        self._unit.release()
