"""A temperature that does not answer to power: the sensor stands still, whatever it says."""

from __future__ import annotations

from burnin.core.reading import known
from burnin.core.sample import Sample
from burnin.guard.guard import Expectation, Trip
from burnin.guard.kind import GuardFacts, GuardKind
from burnin.guard.meanings import GuardCause, GuardCheck, GuardReason
from burnin.profile import guards as settings

ANSWERS_FROM_W = 80.0
"""A rise by so much must move a whole-degree sensor: 3 K through the best mount (0.04 K/W)."""
ANSWERS_WITHIN_S = 8.0


class StuckSensor:
    """Ends the load when power rose and the temperature has not moved since."""

    name = "stale data"

    def __init__(
        self, rise_w: float = ANSWERS_FROM_W, within_s: float = ANSWERS_WITHIN_S
    ) -> None:
        if rise_w <= 0.0 or within_s <= 0.0:
            raise ValueError(f"rise {rise_w} W and time {within_s} s must be above 0")
        self._rise_w, self._within_s = rise_w, within_s
        self._code: float | None = None
        self._base_w = 0.0
        self._risen_s: float | None = None

    def judge(self, sample: Sample) -> Trip | None:
        """Trip once the power has been up for the whole time and the code is still the same."""
        code, power_w = known(sample.telemetry.gpu_temp_c), known(sample.telemetry.power_w)
        if code is None or power_w is None:
            return None
        if code != self._code:
            self._code, self._base_w, self._risen_s = code, power_w, None
            return None
        self._base_w = min(self._base_w, power_w)
        if power_w - self._base_w < self._rise_w:
            self._risen_s = None
            return None
        if self._risen_s is None:
            self._risen_s = sample.elapsed_s
        waited_s = sample.elapsed_s - self._risen_s
        if waited_s <= self._within_s:
            return None
        reason = GuardReason.NO_ANSWER_TO_POWER(
            gpu_temp_c=code,
            waited_s=waited_s,
            rise_w=power_w - self._base_w,
            allowed_s=self._within_s,
        )
        return Trip(
            self.name, "gpu_temp_c", waited_s, self._within_s, reason,
            GuardCause.SENSOR(), GuardCheck.READ_AGAIN(),
        )  # fmt: skip

    def expectation(self) -> Expectation | None:
        """None: nothing is foreseen."""
        return None


def _build(said: settings.StuckSensor, _: GuardFacts) -> StuckSensor | None:
    rise_w = said.answers_from_w
    return None if rise_w is None else StuckSensor(rise_w, said.answers_within_s)


STUCK_SENSOR = GuardKind(
    "stuck_sensor",
    settings.StuckSensor,
    _build,
    "a rise of 80 W is 3 K behind the best mount (0.04 K/W), three codes of a whole-degree sensor",
    30,
    needs=("gpu_temp_c", "power_w"),
)
