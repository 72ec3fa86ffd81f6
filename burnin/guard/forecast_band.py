"""The forecast's 95 % band while a load stands, and how good such forecasts were in this run.

How wide it is and how it came out `burnin.thermal.trials` says; here is what is shown of it.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass

from burnin.core.foreseen import ForecastsKept, Foreseen
from burnin.core.meaning import Note
from burnin.guard.meanings import GuardNote
from burnin.thermal.inputs import Row
from burnin.thermal.trials.errors import RunErrors

SHOWN_S = (10.0, 30.0)
"""So far ahead what had been foreseen is shown beside what then came, and how it came out told."""
NEAR_SHARE = 0.05
"""Forecasts look at moments that are so near to these."""
LATEST_S = 1.0
"""Beside a row that comes so much later than a forecast's time it is shown no more."""
ALIKE_SHARE, ALIKE_W = 0.1, 15.0
"""Mean power may differ by the larger of both from what a forecast was told, common practice."""


@dataclass(frozen=True)
class Promise:
    """What is foreseen, and the mean power until then that it stands on, W."""

    foreseen: Foreseen
    mean_w: float


@dataclass(frozen=True)
class _Waiting:
    """A promise on its way: when it is due, and the energy counted when it was made, J."""

    due_s: float
    promise: Promise
    energy_j: float


class ForecastBand:
    """Keeps what was foreseen under load until its time comes.

    `due`: what had been foreseen of the last row, where the load went as it had been told.
    """

    def __init__(self) -> None:
        self._waiting: dict[float, deque[_Waiting]] = {s: deque() for s in SHOWN_S}
        self._energy_j = 0.0
        self._last_s: float | None = None
        self._newest: tuple[Foreseen, ...] = ()
        self.due: tuple[Foreseen, ...] = ()

    def see(self, row: Row, mean_w: float, fresh: Sequence[Promise]) -> None:
        """A row under load, the mean power since the row before, and what was just foreseen."""
        if self._last_s is not None:
            self._energy_j += mean_w * max(0.0, row.time_s - self._last_s)
        self._last_s = row.time_s
        self.due = ()
        for waiting in self._waiting.values():
            while waiting and waiting[0].due_s <= row.time_s + 1e-6:
                self._meet(waiting.popleft(), row)
        if fresh:
            self._newest = tuple(promise.foreseen for promise in fresh)
        for promise in fresh:
            self._wait_for(promise, row.time_s)

    def now(self) -> tuple[Foreseen, ...]:
        """The newest forecast's band; empty without load."""
        return self._newest

    def load_is_off(self) -> None:
        """What was foreseen of the load does not come."""
        self._newest, self.due, self._last_s = (), (), None
        for waiting in self._waiting.values():
            waiting.clear()

    def _wait_for(self, promise: Promise, now_s: float) -> None:
        ahead_s = promise.foreseen.ahead_s
        for wanted_s, waiting in self._waiting.items():
            if abs(ahead_s - wanted_s) <= NEAR_SHARE * wanted_s:
                waiting.append(_Waiting(now_s + ahead_s, promise, self._energy_j))

    def _meet(self, waited: _Waiting, row: Row) -> None:
        foreseen, told_w = waited.promise.foreseen, waited.promise.mean_w
        came_w = (self._energy_j - waited.energy_j) / foreseen.ahead_s
        alike = abs(came_w - told_w) <= max(ALIKE_W, ALIKE_SHARE * told_w)
        if row.time_s - waited.due_s <= LATEST_S and alike:
            self.due = (*self.due, foreseen)


def kept_of(errors: RunErrors) -> tuple[ForecastsKept, ...]:
    """How the forecasts came out; none of a time ahead of which none was judged."""
    of = ((ahead_s, errors.at(ahead_s)) for ahead_s in SHOWN_S)
    return tuple(
        ForecastsKept(ahead_s, one.judged, one.held, one.missed_k / one.judged)
        for ahead_s, one in of
        if one.judged
    )


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
