"""Opens the hypothesis that a pump or a fan failed a while ago, and plays the time since anew."""

from __future__ import annotations

import copy
import math
from collections import deque
from dataclasses import dataclass, replace

from burnin.thermal.filter_bank import Bank
from burnin.thermal.heat_network import AWAY, LAST, RADIATOR, ROOM, WATER
from burnin.thermal.priors import (
    NO_STREAM,
    STANDING_LOSS,
    STANDING_WATER_J_PER_K,
    STANDING_WATER_W_PER_K,
    Spread,
)
from burnin.thermal.states import CooledBy, Cooling

FAILURE_WEIGHT = 0.02
"""Prior weight of a failure at a given onset, relative to its parent."""
MOST_BRANCHES = 4
KEPT_STEPS = 60
SNAPSHOT_EVERY = 4


@dataclass(frozen=True)
class Step:
    """One step of the filter: time passed, power, fans, the code's cell if one was read."""

    dt_s: float
    power_w: float
    share: float | None
    cell: tuple[float, float] | None
    swing_w: float = 0.0
    rate_k_per_s: float = 0.0


@dataclass(frozen=True)
class _Snapshot:
    index: int
    bank: Bank
    offset: float


class Branches:
    """History of a bank, and the hypotheses opened from it."""

    def __init__(self, bank: Bank) -> None:
        self._bank = bank
        self._steps: deque[tuple[int, Step]] = deque(maxlen=KEPT_STEPS)
        self._snapshots: deque[_Snapshot] = deque(maxlen=KEPT_STEPS // SNAPSHOT_EVERY + 1)
        self._index = 0
        self._first = len(bank.hypotheses)
        self._keep()

    def _keep(self) -> None:
        frozen = copy.copy(self._bank)
        frozen.hypotheses = list(self._bank.hypotheses)
        self._snapshots.append(_Snapshot(self._index, frozen, self._bank.offset))

    def note(self, step: Step) -> None:
        """A step was taken by the bank."""
        self._steps.append((self._index, step))
        self._index += 1
        if self._index % SNAPSHOT_EVERY == 0:
            self._keep()

    @property
    def index(self) -> int:
        """Number of the next step."""
        return self._index

    def open(self, onset: int, may_rest: bool = False) -> None:
        """Add a failure that began about step `onset`, weighed by all that came since.

        `may_rest`: so cool that a fan which stands may simply rest; none is then thought lost.
        """
        oldest = self._steps[0][0] if self._steps else 0
        usable = [s for s in self._snapshots if s.index >= oldest]
        if not usable:
            return
        before = [s for s in usable if s.index <= onset]
        snapshot = before[-1] if before else usable[0]
        old = snapshot.bank
        for kind in CooledBy:
            turning = [
                i for i, h in enumerate(old.hypotheses) if h.fan_turns and h.cooled_by is kind
            ]
            if not turning:
                continue
            parent = max(turning, key=lambda i: float(old.log_weight[i]))
            if may_rest and kind is CooledBy.FANS:
                continue
            self._add(self._failed(old, parent, kind), snapshot)

    def _failed(self, old: Bank, parent: int, kind: CooledBy) -> Bank:
        new = copy.copy(old)
        state = Cooling.FLOW_LOST if kind is CooledBy.WATER else Cooling.FAN_LOST
        new.hypotheses = [
            replace(old.hypotheses[parent], state=state, fan_turns=False)
        ]
        new.x, new.p = old.x[parent : parent + 1].copy(), old.p[parent : parent + 1].copy()
        new.least, new.most, new.prior_sd = (
            old.least[parent : parent + 1].copy(),
            old.most[parent : parent + 1].copy(),
            old.prior_sd[parent : parent + 1].copy(),
        )
        new.held_k = old.held_k[parent : parent + 1].copy()
        new.log_weight = old.log_weight[parent : parent + 1] + math.log(FAILURE_WEIGHT)
        if kind is CooledBy.WATER:
            self._stand_still(new)
        elif kind is CooledBy.STREAM:
            self._put(new, ((AWAY, NO_STREAM),))
        new.retrait()
        return new

    def _stand_still(self, new: Bank) -> None:
        """The water in the block stands; the loop's other water is as far away as the room."""
        new.x[:, ROOM] = new.x[:, WATER]
        new.p[:, ROOM, :] = 0.0
        new.p[:, :, ROOM] = 0.0
        new.p[:, ROOM, ROOM] = 4.0
        self._put(
            new,
            (
                (AWAY, STANDING_WATER_W_PER_K),
                (LAST, STANDING_WATER_J_PER_K),
                (RADIATOR, STANDING_LOSS),
            ),
        )

    def _put(self, new: Bank, parameters: tuple[tuple[int, Spread], ...]) -> None:
        """Parameters anew, whatever was learnt of them before the failure."""
        for place, spread in parameters:
            down, up = spread.log_reach
            new.x[:, place], new.prior_sd[:, place] = spread.log, spread.log_sd
            new.least[:, place], new.most[:, place] = spread.log - down, spread.log + up
            new.p[:, place, :] = 0.0
            new.p[:, :, place] = 0.0
            new.p[:, place, place] = spread.log_sd**2

    def _add(self, branch: Bank, snapshot: _Snapshot) -> None:
        branch.offset = snapshot.offset
        for index, step in self._steps:
            if index < snapshot.index:
                continue
            branch.predict(step.dt_s, step.power_w, step.share)
            if step.cell is not None:
                branch.observe(*step.cell, step.swing_w, step.rate_k_per_s)
        weight = float(branch.log_weight[0]) + branch.offset - self._bank.offset
        if weight < -12.0:
            return
        place = len(self._bank.hypotheses)
        if place - self._first >= MOST_BRANCHES:
            opened = range(self._first, place)
            place = min(opened, key=lambda i: float(self._bank.log_weight[i]))
        self._bank.put(place, branch, weight)
