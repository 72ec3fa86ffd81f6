"""A card that slows itself down for heat has had enough."""

from __future__ import annotations

from burnin.core.reading import NotMeasured, known
from burnin.core.sample import Sample, Slowdown
from burnin.guard.guard import Expectation, Trip
from burnin.guard.kind import GuardFacts, GuardKind
from burnin.guard.meanings import GuardCause, GuardCheck, GuardReason
from burnin.profile import guards as settings


class HeatThrottle:
    """Ends the load when the card slows itself down for heat."""

    name = "heat throttle"

    def judge(self, sample: Sample) -> Trip | None:
        """Trip on the card's own word."""
        slowed = sample.telemetry.throttle_reasons
        if isinstance(slowed, NotMeasured) or Slowdown.HEAT not in slowed:
            return None
        temp_c = known(sample.telemetry.gpu_temp_c)
        reason = (
            GuardReason.SLOWED_FOR_HEAT()
            if temp_c is None
            else GuardReason.SLOWED_FOR_HEAT_AT(gpu_temp_c=temp_c)
        )
        return Trip(
            self.name, "throttle_reasons", temp_c, None, reason,
            GuardCause.COOLING(), GuardCheck.COOLING(),
        )  # fmt: skip

    def expectation(self) -> Expectation | None:
        """None: the card's own threshold is not ours to foresee."""
        return None


def _build(said: settings.HeatThrottle, _: GuardFacts) -> HeatThrottle | None:
    return HeatThrottle() if said.stop_on_heat_throttle else None


HEAT_THROTTLE = GuardKind(
    "heat_throttle",
    settings.HeatThrottle,
    _build,
    "what the card's own driver tells",
    80,
    needs=("throttle_reasons",),
)
