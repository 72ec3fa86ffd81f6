"""The forward model: what two effects together let a bench see.

Everything is worked out for all pairs of effects at once, as square arrays; a single fault is a
pair whose other effect is silent. Widths follow PCI Express Base Specification, 4.2 (second hand:
MindShare, ch. 14): lanes number from 0 without a gap, or from the far end where the port reverses
them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any, TypeVar

from burnin.connector.training import widest_link
from burnin.diagnosis.bench_nuisance import Widths
from burnin.diagnosis.effects import Effect

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.signedinteger[Any]]
    Flags = NDArray[np.bool_]

NO_LANE = 16


@dataclass(frozen=True)
class Predicted:
    """What is predicted for one look, one entry a pair of effects.

    `counts` and `lanes` are by end, card first; `counts` says how bad the errors there are, 0 to 3
    (rows of the table in `burnin.diagnosis.likelihood`); `lanes` holds the lane whose error bit
    either effect sets, `NO_LANE` for none; `wanders`: the speed is low at times.
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
    wanders: Flags

    def at(self, one: int, other: int) -> Predicted:
        """The same for one pair of effects alone."""

        def cut(values: Any) -> Any:
            if isinstance(values, tuple):
                return tuple(cut(value) for value in values)
            return values[one : one + 1, other : other + 1]

        return Predicted(*(cut(getattr(self, field.name)) for field in fields(self)))


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
        self.at_times = column([e.kind == "saving" and e.regime == "burst" for e in effects]) > 0
        self.target = column(
            [e.generation if e.kind == "held" else most_generation for e in effects]
        )
        self.absent = column([e.kind == "absent" for e in effects]) > 0
        self.flaky = column([e.kind == "flaky" for e in effects]) > 0
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


def predict(
    table: Effects,
    warm: bool,
    reversal: bool,
    widths: Widths = Widths.ALL,
    settled: bool = False,
) -> Predicted:
    """What every pair of effects lets one look see, on a port that trains such widths.

    `settled`: a link that gave up a speed does not try it again, and runs clean below it.
    """
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
    if widths is Widths.FULL_OR_ONE:
        width = np.where((width > 0) & (width < table.most_width), 1, width)
    elif widths is Widths.HALF:
        width = np.minimum(width, max(1, table.most_width // 2))
    first = np.where(turned, table.most_width - width, 0)

    def in_link(lane: Ints) -> Flags:
        inside: Flags = (lane >= first) & (lane < first + width)
        return inside

    def active(axis: int) -> Flags:
        marginal = along(table.marginal & there, axis) & in_link(along(table.lane, axis))
        found: Flags = marginal | along(table.lossy & there, axis)
        return found

    act = (active(0), active(1))
    caps = tuple(
        np.where(act[axis] | along(table.held, axis), along(table.generation, axis), most)
        for axis in (0, 1)
    )
    generation = np.minimum(*caps)
    dead_change = along(table.warm_only & (table.high >= 0), 0) | along(
        table.warm_only & (table.high >= 0), 1
    )
    managed = dead_change & warm
    steady = np.where(along(table.at_times, 0), most, caps[0])
    steady = np.minimum(steady, np.where(along(table.at_times, 1), most, caps[1]))
    top = np.maximum(generation, steady)
    states = []
    for axis in (0, 1):
        regime, own = along(table.regime, axis), along(table.generation, axis)
        lowered = act[axis] & (own < most)
        managed = managed | lowered
        errors = act[axis] & (regime == 1) & (own == generation)
        burst = act[axis] & (regime == 2) & (caps[1 - axis] > own) & (not settled)
        top = np.where(burst, np.maximum(top, own + 1), top)
        states.append(np.where(burst, 3, np.where(errors, 2, 0)))
    retried = managed & ~dead_change & (not settled)
    counts, lanes = [], []
    for port in (False, True):
        count = np.where(retried, 1, np.zeros_like(width))
        marks: list[Ints] = []
        for axis in (0, 1):
            mine = along((table.at_port == port) | table.lossy, axis)
            state = np.where(mine, states[axis], np.where(states[axis] >= 2, 1, 0))
            count = np.maximum(count, state)
            at = np.where(state == 3, along(table.generation, axis) + 1, generation)
            shows = (state >= 2) & (at >= 3) & ~along(table.lossy, axis)
            marks.append(np.where(shows, along(table.lane, axis), NO_LANE))
        counts.append(count)
        lanes.append((marks[0], marks[1]))
    lossy = np.zeros_like(turned)
    for axis in (0, 1):
        lossy |= along(table.lossy, axis) & (states[axis] >= 2)
    present = (width > 0) & ~along(table.absent, 0) & ~along(table.absent, 1)
    target = np.minimum(along(table.target, 0), along(table.target, 1))
    return Predicted(
        present, _small(width), _small(generation), _small(top),
        (_small(counts[0]), _small(counts[1])),
        ((_small(lanes[0][0]), _small(lanes[0][1])), (_small(lanes[1][0]), _small(lanes[1][1]))),
        lossy, managed, _small(target), along(table.at_times, 0) | along(table.at_times, 1),
    )


def _small(values: Ints) -> Ints:
    """Numbers up to 16 in a byte each: the squares of every kind of bench are kept."""
    import numpy as np

    small: Ints = values.astype(np.int8)
    return small


_Column = TypeVar("_Column", "NDArray[np.signedinteger[Any]]", "NDArray[np.bool_]")


def along(column: _Column, axis: int) -> _Column:
    """A column as a row or as a column of the square of pairs."""
    return column[:, None] if axis == 0 else column[None, :]
