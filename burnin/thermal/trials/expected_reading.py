"""What the die's sensor should read some seconds ahead: the model's promise, to be checked."""

from __future__ import annotations

from burnin.thermal.cooling_verdict import Estimate, estimate
from burnin.thermal.draws_ahead import Walk
from burnin.thermal.estimator import CoolingWatch
from burnin.thermal.inputs import Plan


def expected_die_c(watch: CoolingWatch, plan: Plan, ahead_s: float) -> Estimate:
    """Reading expected `ahead_s` from the last row, with its 95 % interval, if `plan` is kept.

    Raises ValueError before the first row and for a time that is not ahead.
    """
    import numpy as np

    if watch.bank is None or watch.last is None:
        raise ValueError("no row was seen yet")
    if not ahead_s > 0.0:
        raise ValueError(f"{ahead_s} s is not ahead")
    now_s = watch.last.time_s
    states, traits, held_k = watch.forecaster.draw(watch.bank)
    walk = Walk(states, traits, held_k, np.ones(len(states)))
    pieces = Plan(plan.steps, now_s + ahead_s).segments(now_s, 1.0, watch.last.power_w)
    for length, watts in pieces:
        count = max(1, round(length / 3.0))
        for _ in range(count):
            walk.step(length / count, watts)
    return estimate(walk.die_c(pieces[-1][1]))
