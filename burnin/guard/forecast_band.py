"""The forecast's 95 % band while a load stands, and how good such forecasts were in this run."""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass, field

from burnin.core.foreseen import ForecastsKept, Foreseen
from burnin.core.meaning import Note
from burnin.guard.meanings import GuardNote
from burnin.thermal.forecast import Ahead, Forecast
from burnin.thermal.inputs import Row

JUDGED_S = (10.0, 30.0)
"""What is judged when its time comes."""
NEAR_SHARE = 0.05
"""Forecasts look at moments that are so near to these."""
LATEST_S = 1.0
"""A row that comes so much later than a forecast's time judges it no more."""
ALIKE_SHARE, ALIKE_W = 0.1, 15.0
"""Mean power may differ by the larger of both from what a forecast was told, common practice."""


@dataclass(frozen=True)
class _Promise:
    """A forecast on its way: when it is due, and the energy counted when it was made, J."""

    due_s: float
    ahead: Ahead
    energy_j: float


@dataclass
class _Tally:
    """Forecasts so far ahead: those on their way, and how the others came out."""

    waiting: deque[_Promise] = field(default_factory=deque)
    judged: int = 0
    inside: int = 0
    missed_k: float = 0.0


class ForecastBand:
    """Keeps what was foreseen under load, and judges it when its time comes.

    `step_c`: step of the sensor, K.
    """

    def __init__(self, step_c: float) -> None:
        self._step_c = step_c
        self._tallies = {ahead_s: _Tally() for ahead_s in JUDGED_S}
        self._energy_j = 0.0
        self._last_s: float | None = None
        self._newest: tuple[Ahead, ...] = ()

    def see(self, row: Row, mean_w: float, fresh: Forecast | None) -> None:
        """A row under load, the mean power since the row before, and a forecast just made."""
        if self._last_s is not None:
            self._energy_j += mean_w * max(0.0, row.time_s - self._last_s)
        self._last_s = row.time_s
        for tally in self._tallies.values():
            while tally.waiting and tally.waiting[0].due_s <= row.time_s + 1e-6:
                self._judge(tally, tally.waiting.popleft(), row)
        if fresh is not None:
            self._newest = fresh.ahead
            for ahead in fresh.ahead:
                self._wait_for(ahead, row.time_s)

    def now(self) -> tuple[Foreseen, ...]:
        """The newest forecast's band; empty without load."""
        return tuple(ahead.reads(self._step_c) for ahead in self._newest)

    def load_is_off(self) -> None:
        """What was foreseen of the load does not come."""
        self._newest, self._last_s = (), None
        for tally in self._tallies.values():
            tally.waiting.clear()

    def kept(self) -> tuple[ForecastsKept, ...]:
        """How the forecasts came out; none of a time ahead of which none was judged."""
        return tuple(
            ForecastsKept(ahead_s, t.judged, t.inside, t.missed_k / t.judged)
            for ahead_s, t in self._tallies.items()
            if t.judged
        )

    def _wait_for(self, ahead: Ahead, now_s: float) -> None:
        for ahead_s, tally in self._tallies.items():
            if abs(ahead.ahead_s - ahead_s) <= NEAR_SHARE * ahead_s:
                tally.waiting.append(_Promise(now_s + ahead.ahead_s, ahead, self._energy_j))

    def _judge(self, tally: _Tally, promise: _Promise, row: Row) -> None:
        ahead = promise.ahead
        came_w = (self._energy_j - promise.energy_j) / ahead.ahead_s
        alike_w = max(ALIKE_W, ALIKE_SHARE * ahead.mean_w)
        if row.time_s - promise.due_s > LATEST_S or abs(came_w - ahead.mean_w) > alike_w:
            return
        foreseen = ahead.reads(self._step_c)
        tally.judged += 1
        tally.inside += foreseen.low_c <= row.die_c <= foreseen.high_c
        tally.missed_k += abs(row.die_c - foreseen.value_c)


def notes_of(kept: Sequence[ForecastsKept]) -> tuple[Note, ...]:
    """How good forecasts were, a note for each time ahead."""
    return tuple(
        GuardNote.FORECASTS_KEPT(
            ahead_s=one.ahead_s,
            judged_count=one.judged_count,
            inside_pct=100.0 * one.inside_count / one.judged_count,
            mean_miss_k=one.mean_miss_k,
        )
        for one in kept
    )


def foreseen_note(foreseen: Foreseen) -> Note:
    """A forecast with its band, for a catalogue to word."""
    return GuardNote.FORESEEN(
        ahead_s=foreseen.ahead_s,
        value_c=foreseen.value_c,
        low_c=foreseen.low_c,
        high_c=foreseen.high_c,
    )
