"""The forward model: what two effects together let a bench see, and how a reading of it errs.

Everything is worked out for all pairs of effects at once, as square arrays; a single fault is a
pair whose other effect is silent. Widths follow PCI Express Base Specification, 4.2 (second hand:
MindShare, ch. 14): lanes number from 0 without a gap, or from the far end where the port reverses
them. The tables of misreading are beliefs, stated here once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

from burnin.connector.training import widest_link
from burnin.diagnosis.effects import Effect
from burnin.diagnosis.evidence import LinkLook

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]
    Flags = NDArray[np.bool_]

P_REVERSED = 0.10
"""How probable a port numbers the lanes of a narrowed link from the far end (belief)."""

_WIDTH_RIGHT = 0.998
_SPEED_RIGHT = 0.985
_COUNT_EDGES = (0, 3, 30)
"""Error counts are told apart as 0, up to 3, up to 30, more."""
_COUNTS = (
    (0.970, 0.025, 0.004, 0.001),  # nothing wrong at this end
    (0.400, 0.500, 0.090, 0.010),  # a speed was given up, or the other end sees errors
    (0.080, 0.220, 0.420, 0.280),  # errors at a speed that is held
    (0.010, 0.040, 0.350, 0.600),  # so many that the speed was given up
)
_LANE_SEEN = (0.0, 0.0, 0.88, 0.97)
"""Chance that a lane's error bit is set, by the same four states of its errors."""
_LANE_FALSE = 0.002
_LOSSY_LANE_SEEN = 0.25
_MANAGED = (0.04, 0.95)
_TARGET_RIGHT = 0.97
_ABSENT_RIGHT, _LOST_RIGHT = 0.9995, 0.9995
_NO_LANE = 16


@dataclass(frozen=True)
class Predicted:
    """What is predicted for one look, one entry a pair of effects.

    `counts` and `lanes` are by end, card first; `counts` are rows of `_COUNTS`; `lanes` holds the
    lane whose error bit either effect sets, `_NO_LANE` for none.
    """

    present: Flags
    width: Ints
    generation: Ints
    top_generation: Ints
    counts: tuple[Ints, Ints]
    lanes: tuple[tuple[Ints, Ints], tuple[Ints, Ints]]
    lossy: Flags
    managed: Flags
    target: Ints


class Effects:
    """Effects as columns."""

    def __init__(self, effects: Sequence[Effect], most_width: int, most_generation: int) -> None:
        import numpy as np

        def column(values: Sequence[int]) -> Ints:
            return np.array(values, dtype=np.int64)

        self.effects = tuple(effects)
        self.most_width, self.most_generation = most_width, most_generation
        gone = [e.lanes if e.kind == "dead" else frozenset[int]() for e in effects]
        self.low = column([min(lanes, default=most_width) for lanes in gone])
        self.high = column([max(lanes, default=-1) for lanes in gone])
        self.marginal = column([e.kind == "marginal" for e in effects]) > 0
        self.lossy = column([e.kind == "lossy" for e in effects]) > 0
        self.held = column([e.kind in ("held", "saving") for e in effects]) > 0
        self.target = column(
            [e.generation if e.kind == "held" else most_generation for e in effects]
        )
        self.absent = column([e.kind == "absent" for e in effects]) > 0
        self.lost = column([e.kind == "lost" for e in effects]) > 0
        self.warm_only = column([e.warm_only for e in effects]) > 0
        self.lane = column([min(e.lanes) if e.kind == "marginal" else -1 for e in effects])
        self.at_port = column([e.side == "A" for e in effects]) > 0
        self.generation = column([e.generation or most_generation for e in effects])
        regimes = ("clean", "errors", "burst")
        self.regime = column([regimes.index(e.regime) for e in effects])
        widths = range(most_width + 1)
        self.forward = column([_width(range(d, most_width), most_width, False) for d in widths])
        self.backward = column([_width(range(d), most_width, True) for d in widths])


def _width(gone: range, most_width: int, reversed_: bool) -> int:
    return widest_link(gone, most_width, reversed_=reversed_)


def predict(table: Effects, warm: bool, reversal: bool) -> Predicted:
    """What every pair of effects lets one look see."""
    import numpy as np

    size, most = len(table.effects), table.most_generation
    there = np.ones(size, dtype=bool) if warm else ~table.warm_only
    low = np.where(there, table.low, table.most_width)
    high = np.where(there, table.high, -1)
    width = table.forward[np.minimum(low[:, None], low[None, :])]
    turned = np.zeros_like(width, dtype=bool)
    if reversal:
        other = table.backward[np.maximum(high[:, None], high[None, :]) + 1]
        turned = other > width
        width = np.maximum(width, other)
    first = np.where(turned, table.most_width - width, 0)

    def in_link(lane: Ints) -> Flags:
        inside: Flags = (lane >= first) & (lane < first + width)
        return inside

    def active(axis: int) -> Flags:
        marginal = _along(table.marginal & there, axis) & in_link(_along(table.lane, axis))
        found: Flags = marginal | _along(table.lossy & there, axis)
        return found

    act = (active(0), active(1))
    caps = tuple(
        np.where(act[axis] | _along(table.held, axis), _along(table.generation, axis), most)
        for axis in (0, 1)
    )
    generation = np.minimum(*caps)
    dead_change = _along(table.warm_only & (table.high >= 0), 0) | _along(
        table.warm_only & (table.high >= 0), 1
    )
    managed = dead_change & warm
    top = generation.copy()
    states = []
    for axis in (0, 1):
        regime, own = _along(table.regime, axis), _along(table.generation, axis)
        lowered = act[axis] & (own < most)
        managed = managed | lowered
        errors = act[axis] & (regime == 1) & (own == generation)
        burst = act[axis] & (regime == 2) & (caps[1 - axis] > own)
        top = np.where(burst, np.maximum(top, own + 1), top)
        states.append(np.where(burst, 3, np.where(errors, 2, 0)))
    retried = managed & ~dead_change
    counts, lanes = [], []
    for port in (False, True):
        count = np.where(retried, 1, np.zeros_like(width))
        marks: list[Ints] = []
        for axis in (0, 1):
            mine = _along((table.at_port == port) | table.lossy, axis)
            state = np.where(mine, states[axis], np.where(states[axis] >= 2, 1, 0))
            count = np.maximum(count, state)
            at = np.where(state == 3, _along(table.generation, axis) + 1, generation)
            shows = (state >= 2) & (at >= 3) & ~_along(table.lossy, axis)
            marks.append(np.where(shows, _along(table.lane, axis), _NO_LANE))
        counts.append(count)
        lanes.append((marks[0], marks[1]))
    lossy = np.zeros_like(turned)
    for axis in (0, 1):
        lossy |= _along(table.lossy, axis) & (states[axis] >= 2)
    present = (width > 0) & ~_along(table.absent, 0) & ~_along(table.absent, 1)
    return Predicted(
        present, width, generation, top, (counts[0], counts[1]), (lanes[0], lanes[1]), lossy,
        managed, np.minimum(_along(table.target, 0), _along(table.target, 1)),
    )


_Column = TypeVar("_Column", "NDArray[np.int64]", "NDArray[np.bool_]")


def _along(column: _Column, axis: int) -> _Column:
    """A column as a row or as a column of the square of pairs."""
    return column[:, None] if axis == 0 else column[None, :]


def likelihoods(predicted: Predicted, look: LinkLook) -> dict[str, Floats]:
    """Probability of each thing that the look saw, by name; what it did not see has no entry."""
    import numpy as np

    found: dict[str, Floats] = {}
    if look.width is not None:
        right = predicted.width == look.width
        found["width"] = np.where(right, _WIDTH_RIGHT, (1 - _WIDTH_RIGHT) / 4)
    if look.generation is not None:
        miss = (1 - _SPEED_RIGHT) / 3
        found["speed"] = np.where(predicted.generation == look.generation, _SPEED_RIGHT, miss)
    if look.top_generation is not None:
        right = predicted.top_generation == look.top_generation
        short = (predicted.top_generation > predicted.generation) & (
            predicted.generation == look.top_generation
        )
        found["fastest"] = np.where(right, 0.7, np.where(short, 0.3, 0.02))
        same = predicted.top_generation == predicted.generation
        found["fastest"] = np.where(same, np.where(right, 0.96, 0.02), found["fastest"])
    if look.target_generation is not None:
        right = predicted.target == look.target_generation
        found["target speed"] = np.where(right, _TARGET_RIGHT, (1 - _TARGET_RIGHT) / 4)
    table = np.array(_COUNTS)
    for place, end in enumerate(("card", "port")):
        count, lanes = look.errors[place], look.lanes[place]
        states = predicted.counts[place]
        if count is not None:
            category = sum(count > edge for edge in _COUNT_EDGES)
            found[f"errors at the {end}"] = table[states, category]
        if lanes is not None:
            found[f"lane errors at the {end}"] = _lane_chance(predicted, place, look, lanes)
    if look.managed is not None:
        p = np.where(predicted.managed, _MANAGED[1], _MANAGED[0])
        found["link kept reliable"] = p if look.managed else 1.0 - p
    return found


def _lane_chance(
    predicted: Predicted, place: int, look: LinkLook, lanes: frozenset[int]
) -> Floats:
    """Probability of one end's lane error bits: those that nothing sets, times, for a lane that
    an effect sets, how much more or less probable its bit is for that."""
    import numpy as np

    width = look.most_width
    false = [_LANE_FALSE if lane in lanes else 1 - _LANE_FALSE for lane in range(width)]
    lossy = [_LOSSY_LANE_SEEN if n in lanes else 1 - _LOSSY_LANE_SEEN for n in range(width)]
    ratio = np.ones((_NO_LANE + 1, len(_LANE_SEEN)))
    for lane in range(width):
        for state, chance in enumerate(_LANE_SEEN):
            ratio[lane, state] = (chance if lane in lanes else 1.0 - chance) / false[lane]
    one, other = predicted.lanes[place]
    states = predicted.counts[place]
    both: Floats = ratio[one, states] * np.where(one == other, 1.0, ratio[other, states])
    return np.where(predicted.lossy, np.prod(lossy), np.prod(false) * both)


def signature(predicted: Predicted, look: LinkLook) -> Ints:
    """A number for what is predicted of the things that this look saw, the same where all that
    is the same: no further look of this kind tells such pairs of effects apart."""
    import numpy as np

    code = predicted.present.astype(np.int64)
    parts = [
        (look.width, predicted.width, 33),
        (look.generation, predicted.generation, 8),
        (look.target_generation, predicted.target, 8),
    ]
    for seen, values, base in parts:
        if seen is not None:
            code = code * base + values
    for place in (0, 1):
        if look.errors[place] is not None:
            code = code * 2 + (predicted.counts[place] >= 2)
        if look.lanes[place] is not None:
            one, other = predicted.lanes[place]
            code = code * 17 + np.minimum(one, other)
            code = code * 17 + np.maximum(one, other)
            code = code * 2 + predicted.lossy
    return np.where(predicted.present, code, 0)


def presence(table: Effects, predicted: Predicted, absent: bool, lost: bool) -> Floats:
    """Probability that the card came up, and stayed, as it did."""
    import numpy as np

    goes = _along(table.lost, 0) | _along(table.lost, 1)
    p_absent = np.where(predicted.present, 1 - _ABSENT_RIGHT, _ABSENT_RIGHT)
    p_lost = np.where(goes, _LOST_RIGHT, 1 - _LOST_RIGHT)
    stayed = p_lost if lost else 1.0 - p_lost
    return p_absent if absent else (1.0 - p_absent) * stayed
