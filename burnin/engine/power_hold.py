"""Holding a card at a power in watts by varying the share of each slice that is work.

A duty cycle does not set power: clocks, temperature and the card's own limits all move it, and the
instantaneous power sensor beats against the slices. So power is judged by the card's energy
counter: what was used over a window, over the time between the counter's own refreshes. It has
three parts:

- a set point that climbs no faster than `rise_w_per_s` (soft start) and falls at once;
- a power curve (`burnin.engine.power_curve`), identified anew from every window as the card heats;
- an energy account once the set point has arrived: what was used too much or too little is paid
  back over PAY_BACK_S, by at most PAY_BACK_SHARE of the target, so that the mean is right and no
  window overshoots.

Every share follows from measured numbers and stated bounds alone: the class knows no card.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass

from burnin.core.meaning import Note
from burnin.core.reading import NotMeasured
from burnin.engine.meanings import EngineNote
from burnin.engine.power_curve import CURVE_S, STEADY_CURVE_S, PowerCurve

RISE_W_PER_S = 200.0
"""Soft start: the set point climbs no faster."""
WINDOW_S = 0.45
"""Energy is judged over windows at least this long: four refreshes of a 100 ms counter."""
FIRST_SHARE = 0.04
"""Share that is tried before anything is known of the card."""
PAY_BACK_S = 1.0
PAY_BACK_SHARE = 0.03
SHORTEST_CLIMB_S = 2.2
"""A climb from idle takes at least this long: windows and refreshes are behind by a third of it."""
LANDING_S = 0.6
ARRIVED_SHARE = 0.01
"""The climb ends softly: over LANDING_S, until within ARRIVED_SHARE of the target."""
LAG_S = 0.07
"""By how much the counter, as it is seen, is behind the share: half a refresh and half a sample."""
LEAPS = ((0.18, 1.8), (0.38, 1.35))
LEAP_W, LEAP_CURVE_S = 20.0, 1e-3
"""A card that wakes gives several times the power for the same share from one moment on (seen on a
real card: clocks stay low until work has lasted). Where the rise over rest is so many times the
target's (the shorter the span, s, the more, for the counter's refreshes are seen late), and LEAP_W
more, the curve is learnt anew at once and the share falls to it."""
STALE_S = 2.0
"""Without a fresh number for this long the share falls to 0."""
WAKE_S = 5.0
WAKE_W, WAKE_SHARE = 1.0, 0.12
"""The engine may need a while to begin: until the power has risen by WAKE_W and WAKE_SHARE over
rest, at most WAKE_S, the first share is held and nothing is learnt of the card."""
BLIND_AFTER_S = 1.0
"""A card that shows neither energy nor power for this long has no sensor to hold by."""


@dataclass(frozen=True)
class _Point:
    """The energy counter as seen at a moment, and the share integrated until then."""

    time_s: float
    energy_j: float
    worked_s: float


class PowerHold:
    """Gives the share of work that holds `target_w`; call `update` with every sample.

    `share_without_sensor` is held, softly started, on a card that has no power sensor; `mode`
    and `why` say which it is. `idle_w` is the power at rest where it is known.
    """

    def __init__(
        self,
        target_w: float,
        *,
        idle_w: float | None = None,
        rise_w_per_s: float = RISE_W_PER_S,
        share_without_sensor: float = 0.5,
    ) -> None:
        if not target_w > 0.0 or not rise_w_per_s > 0.0:
            raise ValueError(f"power to hold and its rise must be above 0: {target_w}")
        self._target_w = target_w
        self._curve = PowerCurve(idle_w)
        self._rise_w_per_s = rise_w_per_s
        self._blind_share = share_without_sensor
        self._share = 0.0
        self._worked_s = 0.0
        self._set_point_w = 0.0
        self._owed_j = 0.0
        self._points: deque[_Point] = deque()
        self._began_s: float | None = None
        self._awake = False
        self._refreshes = 0
        self._last_s = 0.0
        self._fresh_s = 0.0
        self._sensor_energy_j: float | None = None
        self.mode = "watts"
        self.why: Note = EngineNote.HELD_BY_ENERGY()

    @property
    def set_point_w(self) -> float:
        """Power that is aimed at now: the target once the soft start is over."""
        return self._set_point_w

    @property
    def arrived(self) -> bool:
        """Whether the soft start is over."""
        return self.mode == "watts" and self._set_point_w >= self._target_w

    @property
    def saturated(self) -> bool:
        """Whether all the work there is does not reach the target."""
        return self._share >= 1.0

    @property
    def watts_per_share(self) -> float | None:
        """The power curve as last identified: watts above idle for full work."""
        return self._curve.watts_per_share

    def set_target(self, target_w: float) -> None:
        """Hold another power: climbing softly, falling at once."""
        if not target_w > 0.0:
            raise ValueError(f"power to hold must be above 0: {target_w}")
        self._target_w = target_w
        self._set_point_w = min(self._set_point_w, target_w)
        self._owed_j = 0.0
        if self._curve.share_for(target_w) is not None:
            self._share = min(self._share, self._wanted())

    def update(
        self,
        now_s: float,
        power_w: float | NotMeasured | None,
        energy_j: float | NotMeasured | None,
    ) -> float:
        """The share to set now, from a sample taken at `now_s` (monotonic).

        `energy_j` is the card's energy counter; without one the power sensor is integrated, which
        is less exact. Values that are not measured are left out.
        """
        if self._began_s is None:
            self._began_s = self._last_s = self._fresh_s = now_s
        passed_s = max(0.0, now_s - self._last_s)
        self._last_s = now_s
        self._worked_s += self._share * passed_s
        energy = _number(energy_j)
        power = _number(power_w)
        if energy is None and power is not None:
            self.why = EngineNote.HELD_BY_POWER_SENSOR()
            self._sensor_energy_j = (self._sensor_energy_j or 0.0) + power * passed_s
            energy = self._sensor_energy_j
        if energy is None and not self._points:
            return self._without_sensor(now_s, passed_s)
        if self._curve.idle_w is None and power is not None and self._share == 0.0:
            self._curve.idle_w = power
        if energy is not None and (not self._points or energy != self._points[-1].energy_j):
            self._fresh_s = now_s
            self._see(_Point(now_s, energy, self._worked_s - self._share * LAG_S))
        elif now_s - self._fresh_s > STALE_S:
            self._share = 0.0
        return self._share

    def _without_sensor(self, now_s: float, passed_s: float) -> float:
        if self._began_s is not None and now_s - self._began_s > BLIND_AFTER_S:
            self.mode = "share"
            self.why = EngineNote.HELD_AS_SHARE(share=self._blind_share)
            self._share = min(self._blind_share, self._share + 0.1 * passed_s)
        return self._share

    def _see(self, point: _Point) -> None:
        """Take a refresh of the counter: judge the window, move set point and share."""
        if self._points and point.energy_j < self._points[-1].energy_j:
            self._points.clear()  # the counter restarted
        last = self._points[-1] if self._points else None
        self._points.append(point)
        while len(self._points) > 2 and point.time_s - self._points[1].time_s >= WINDOW_S:
            self._points.popleft()
        oldest = self._points[0]
        window_s = point.time_s - oldest.time_s
        if last is None or self._asleep(point):
            self._share = FIRST_SHARE
            return
        if self.arrived:
            self._account(point, last)
        if self._leapt(point) or window_s < WINDOW_S * 0.9:
            return
        power_w = (point.energy_j - oldest.energy_j) / window_s
        step_s = point.time_s - last.time_s
        worked = (point.worked_s - oldest.worked_s) / window_s
        tau_s = STEADY_CURVE_S if self.arrived else CURVE_S
        self._curve.identify(power_w, worked, step_s, tau_s)
        self._climb(power_w, step_s)
        step = self._curve.share_of_rise(self._rise(step_s))
        self._share = min(self._wanted(), max(FIRST_SHARE, self._share) + step)

    def _leapt(self, point: _Point) -> bool:
        """Whether the card gives far more than the curve says; the share is brought down to it."""
        return any(self._rose(point, span_s, times) for span_s, times in LEAPS)

    def _rose(self, point: _Point, least_s: float, times: float) -> bool:
        old = next((p for p in reversed(self._points) if point.time_s - p.time_s >= least_s), None)
        if old is None or not self._set_point_w:
            return False
        span_s, idle_w = point.time_s - old.time_s, self._curve.idle_w or 0.0
        power_w = (point.energy_j - old.energy_j) / span_s
        if power_w - idle_w <= times * (self._target_w - idle_w) + LEAP_W:
            return False
        worked = (point.worked_s - old.worked_s) / span_s
        self._curve.identify(power_w, worked, span_s, LEAP_CURVE_S)
        self._share = max(FIRST_SHARE, min(self._share, self._wanted()))
        self._points = deque([point])
        return True

    def _asleep(self, point: _Point) -> bool:
        """Whether the work has not begun to show; what was seen until then is dropped.

        So is the span to the first refresh: the counter had stood at its first number for a while.
        """
        if self._awake or self._began_s is None:
            return False
        self._refreshes += 1
        if self._refreshes == 1:
            self._points = deque([point])
            return True
        oldest = self._points[0]
        power_w = (point.energy_j - oldest.energy_j) / (point.time_s - oldest.time_s)
        idle_w = self._curve.idle_w
        sure = point.time_s - oldest.time_s >= WINDOW_S * 0.6
        risen = idle_w is None or (sure and power_w > idle_w * (1.0 + WAKE_SHARE) + WAKE_W)
        self._awake = risen or point.time_s - self._began_s > WAKE_S
        if self._awake:
            self._points = deque([point])
        return not self._awake

    def _account(self, point: _Point, last: _Point) -> None:
        step_s = point.time_s - last.time_s
        self._owed_j += self._target_w * step_s - (point.energy_j - last.energy_j)
        most_j = PAY_BACK_SHARE * self._target_w * PAY_BACK_S
        self._owed_j = max(-2.0 * most_j, min(most_j, self._owed_j))

    def _climb(self, power_w: float, step_s: float) -> None:
        if self._set_point_w == 0.0:
            self._set_point_w = min(self._target_w, power_w)
        if self.saturated:
            self._owed_j = min(0.0, self._owed_j)
        if self.arrived:
            return
        left_w = self._target_w - self._set_point_w
        climbed_w = self._set_point_w + min(self._rise(step_s), left_w * step_s / LANDING_S)
        if left_w < ARRIVED_SHARE * self._target_w:
            climbed_w = self._target_w
        # the set point waits for the card: it never runs ahead by more than half a second's rise
        self._set_point_w = min(self._target_w, climbed_w, power_w + self._rise_w_per_s * 0.5)

    def _rise(self, step_s: float) -> float:
        """Watts that the set point may rise in `step_s`."""
        whole_w = self._target_w - (self._curve.idle_w or 0.0)
        return step_s * min(self._rise_w_per_s, max(1.0, whole_w / SHORTEST_CLIMB_S))

    def _wanted(self) -> float:
        pay_w = self._owed_j / PAY_BACK_S if self.arrived else 0.0
        wanted = self._curve.share_for(self._set_point_w + pay_w)
        return FIRST_SHARE if wanted is None else wanted


def _number(value: float | NotMeasured | None) -> float | None:
    """The value, None where it was not measured or is no number."""
    if value is None or isinstance(value, NotMeasured) or not math.isfinite(value):
        return None
    return float(value)
