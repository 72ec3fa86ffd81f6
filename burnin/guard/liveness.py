"""Guards on the watching itself: a card that is gone, a sensor that is silent or frozen."""

from __future__ import annotations

from burnin.card.meanings import CardReason
from burnin.core.meaning import Reason
from burnin.core.reading import NotMeasured
from burnin.core.sample import Sample, Telemetry
from burnin.guard.guard import Expectation, Trip
from burnin.guard.kind import GuardFacts, GuardKind
from burnin.guard.meanings import GuardCause, GuardCheck, GuardReason
from burnin.profile import guards as settings
from burnin.profile.parts import Part


class LostCard:
    """Ends the load when the card no longer answers on its bus."""

    name = "lost card"

    def judge(self, sample: Sample) -> Trip | None:
        """Trip on the first sample of a card that reads all ones or has vanished."""
        if sample.present:
            return None
        return Trip(
            self.name, "present", None, None, GuardReason.CARD_GONE(),
            GuardCause.CARD_OR_SUPPLY(), GuardCheck.EDGE_AND_PLUGS(),
        )  # fmt: skip

    def expectation(self) -> Expectation | None:
        """None: nothing is foreseen."""
        return None


def hangs(sample: Sample) -> bool:
    """Whether nothing was told because the card's driver hangs."""
    told = sample.telemetry.gpu_temp_c
    return isinstance(told, NotMeasured) and told.reason.means(CardReason.NO_ANSWER)


FROZEN_AFTER = 2.0
"""Frozen data are let pass for so many times as long as unreadable ones."""


class StaleData:
    """Ends the load when the GPU's temperature is unreadable, late, or frozen with all the rest.

    A driver that hangs ends a load at once (`burnin.card.answers_in_time` has waited by then).
    What warms nothing goes on unseen: time without samples or temperature counts under load alone.
    A card that never told the GPU's temperature is watched by another one that it tells.

    A temperature in whole degrees may stand still for long, and so may a clock; power does not.
    Frozen means that power and every temperature together have not moved while the load is on, for
    `FROZEN_AFTER` times `stale_after_s`: 10 s by the default of 5 s (`profile/guards.py`). A single
    temperature that does not answer to power is `stuck_sensor.py`'s.
    """

    name = "stale data"

    def __init__(self, stale_after_s: float) -> None:
        self._stale_after_s = stale_after_s
        self._good_s: float | None = None
        self._gpu_told = False
        self._last: Sample | None = None
        self._frozen: tuple[object, ...] | None = None
        self._frozen_since_s = 0.0

    def judge(self, sample: Sample) -> Trip | None:
        """Trip once the temperature is older than allowed."""
        now, last = sample.elapsed_s, self._last
        temp_c = sample.telemetry.gpu_temp_c
        self._last = sample
        if sample.loaded and hangs(sample):
            assert isinstance(temp_c, NotMeasured)
            return self._trip(sample.read_s, GuardReason.SENSORS_HANG(because=temp_c.reason))
        gap = now - last.elapsed_s if last is not None and last.loaded and sample.loaded else 0.0
        self._gpu_told = self._gpu_told or not isinstance(temp_c, NotMeasured)
        if self._good_s is None or not sample.loaded or self._seen(sample.telemetry):
            self._good_s = now
        allowed_s = self._stale_after_s
        if gap > allowed_s:
            return self._trip(gap, GuardReason.NO_SAMPLE(gap_s=gap, allowed_s=allowed_s))
        age = now - self._good_s
        if age > allowed_s and isinstance(temp_c, NotMeasured):
            reason = GuardReason.TEMPERATURE_UNREAD(
                age_s=age, allowed_s=allowed_s, because=temp_c.reason
            )
            return self._trip(age, reason)
        return self._judge_frozen(sample)

    def _seen(self, told: Telemetry) -> bool:
        """Whether the GPU's temperature was read; another's, where nobody ever told the GPU's."""
        if self._gpu_told:
            return not isinstance(told.gpu_temp_c, NotMeasured)
        others = (told.hotspot_temp_c, told.memory_temp_c)
        return any(not isinstance(value, NotMeasured) for value in others)

    def _judge_frozen(self, sample: Sample) -> Trip | None:
        now, telemetry = sample.elapsed_s, sample.telemetry
        if sample.load_share <= 0.0 or isinstance(telemetry.power_w, NotMeasured):
            self._frozen = None
            return None
        state = (
            telemetry.power_w,
            telemetry.gpu_temp_c,
            telemetry.hotspot_temp_c,
            telemetry.memory_temp_c,
            telemetry.energy_j,
        )
        if state != self._frozen:
            self._frozen, self._frozen_since_s = state, now
            return None
        age, allowed_s = now - self._frozen_since_s, FROZEN_AFTER * self._stale_after_s
        if age <= allowed_s:
            return None
        return self._trip(
            age, GuardReason.NOTHING_MOVES(age_s=age, allowed_s=allowed_s), allowed_s
        )

    def _trip(self, age_s: float, reason: Reason, allowed_s: float | None = None) -> Trip:
        limit_s = self._stale_after_s if allowed_s is None else allowed_s
        return Trip(
            self.name, "gpu_temp_c", age_s, limit_s, reason,
            GuardCause.DRIVER_OR_SENSOR(), GuardCheck.DRIVER(),
        )  # fmt: skip

    def expectation(self) -> Expectation | None:
        """None: nothing is foreseen."""
        return None


class NoSettings(Part):
    """Nothing to set: this guard is always there."""


def _lost(_: NoSettings, __: GuardFacts) -> LostCard:
    return LostCard()


def _stale(said: settings.StaleData, _: GuardFacts) -> StaleData:
    return StaleData(said.stale_after_s)


LOST_CARD = GuardKind(
    "lost_card",
    NoSettings,
    _lost,
    "a device that is gone reads all ones (PCI Express Base Specification, completion timeouts)",
    10,
)
STALE_DATA = GuardKind(
    "stale_data",
    settings.StaleData,
    _stale,
    "nothing may be loaded that is not seen; the time is common practice, no source",
    20,
)
