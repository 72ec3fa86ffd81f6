"""How probable it is to see what a look saw, given what is predicted, and how a reading of it errs.

The tables of misreading are beliefs, stated here once.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from burnin.diagnosis.bench_nuisance import SOUND_COUNTS, STUCK_LANE, counted
from burnin.diagnosis.evidence import LinkLook
from burnin.diagnosis.prediction import NO_LANE, Effects, Predicted, along

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.signedinteger[Any]]

_WIDTH_RIGHT = 0.9998
_SPEED_RIGHT = 0.994
_COUNTS = (
    SOUND_COUNTS,  # nothing wrong at this end
    (0.400, 0.500, 0.090, 0.010),  # a speed was given up, or the other end sees errors
    (0.080, 0.220, 0.420, 0.280),  # errors at a speed that is held
    (0.010, 0.040, 0.350, 0.600),  # so many that the speed was given up
)
_LANE_SEEN = (0.0, 0.0, 0.88, 0.97)
"""Chance that a lane's error bit is set, by the same four states of its errors."""
_BEFORE_SHARE = 0.4
"""Chance that a lane that errs has set its bit already before the first look."""
_BEFORE_LEAST = 0.03
_NOT_SLOW = 0.15
"""Chance that a link that is slow at times never was it in a look."""
_LANE_FALSE = 0.0004
_LOSSY_LANE_SEEN = (0.04, 0.40, 0.75, 0.97)
"""Chance of a lane's bit where every lane errs: a little, or in plenty; any of them as likely."""
_MANAGED = (0.04, 0.80, 0.50)
"""Chance of the port's word: nothing given up, given up, and given up in an earlier look, maybe."""
_TARGET_RIGHT = 0.97
_FAILS, _FLAKY = (0.003,), (0.1, 0.3, 0.6)
"""Chance that one start fails: of a card that comes up, of one that does so at times."""
_ABSENT_RIGHT, _LOST_RIGHT = 0.9995, 0.9995


class Feature(StrEnum):
    """One thing that a look at the link saw; the ends are card and port."""

    PRESENCE = "presence"
    WIDTH = "width"
    SPEED = "speed"
    TOP_SPEED = "fastest"
    TARGET_SPEED = "target speed"
    LINK_LOWERED = "link kept reliable"
    CARD_ERRORS = "errors at the card"
    PORT_ERRORS = "errors at the port"
    CARD_LANES = "lane errors at the card"
    PORT_LANES = "lane errors at the port"


ERRORS = (Feature.CARD_ERRORS, Feature.PORT_ERRORS)
LANE_ERRORS = (Feature.CARD_LANES, Feature.PORT_LANES)


def likelihoods(predicted: Predicted, look: LinkLook, number: int = 0) -> dict[Feature, Floats]:
    """Probability of each thing that the look saw, the `number`th of the run; what it did not see
    has no entry."""
    import numpy as np

    found: dict[Feature, Floats] = {}
    if look.width is not None:
        right = predicted.width == look.width
        found[Feature.WIDTH] = np.where(right, _WIDTH_RIGHT, (1 - _WIDTH_RIGHT) / 4)
    if look.generation is not None:
        miss = (1 - _SPEED_RIGHT) / 3
        speed = np.where(predicted.generation == look.generation, _SPEED_RIGHT, miss)
        slow = look.generation < look.most_generation
        at_times = (1.0 - _NOT_SLOW) / (look.most_generation - 1) if slow else _NOT_SLOW
        found[Feature.SPEED] = np.where(predicted.wanders, at_times, speed)
    if look.top_generation is not None:
        right = predicted.top_generation == look.top_generation
        short = (predicted.top_generation > predicted.generation) & (
            predicted.generation == look.top_generation
        )
        burst = np.where(right, 0.7, np.where(short, 0.3, 0.02))
        same = predicted.top_generation == predicted.generation
        found[Feature.TOP_SPEED] = np.where(same, np.where(right, 0.96, 0.02), burst)
    if look.target_generation is not None:
        right = predicted.target == look.target_generation
        found[Feature.TARGET_SPEED] = np.where(right, _TARGET_RIGHT, (1 - _TARGET_RIGHT) / 4)
    table = np.array(_COUNTS)
    for place in (0, 1):
        count, lanes = look.errors[place], look.lanes[place]
        states = predicted.counts[place]
        if count is not None:
            found[ERRORS[place]] = table[states, counted(count)]
        if lanes is not None:
            found[LANE_ERRORS[place]] = _lane_chance(predicted, place, look, lanes)
    if look.managed is not None:
        p = np.where(predicted.managed, _MANAGED[2 if number else 1], _MANAGED[0])
        found[Feature.LINK_LOWERED] = p if look.managed else 1.0 - p
    return found


def _lane_chance(
    predicted: Predicted, place: int, look: LinkLook, lanes: frozenset[int]
) -> Floats:
    """Probability of one end's lane error bits: those that nothing sets, times, for a lane that
    an effect sets, how much more or less probable its bit is for that."""
    import numpy as np

    width = look.most_width
    stuck = look.stuck[place]
    told = [lane for lane in range(width) if lane not in stuck]
    false = {lane: _LANE_FALSE if lane in lanes else 1 - _LANE_FALSE for lane in told}
    hit = sum(lane in lanes for lane in told)
    count = look.errors[place]
    rates = _LOSSY_LANE_SEEN[1:] if count is not None and counted(count) == 3 else _LOSSY_LANE_SEEN
    lossy = sum(p**hit * (1.0 - p) ** (len(told) - hit) for p in rates)
    ratio = np.ones((NO_LANE + 1, len(_LANE_SEEN)))
    before = max(_BEFORE_LEAST, len(stuck) / max(1, width))
    for lane in (set(range(width)) & stuck) - look.of_bench[place]:
        ratio[lane, 2:] = min(8.0, (_BEFORE_SHARE + (1.0 - _BEFORE_SHARE) * before) / before)
    for lane in set(range(width)) - stuck:
        for state, chance in enumerate(_LANE_SEEN):
            ratio[lane, state] = (chance if lane in lanes else 1.0 - chance) / false[lane]
    one, other = predicted.lanes[place]
    states = predicted.counts[place]
    both: Floats = ratio[one, states] * np.where(one == other, 1.0, ratio[other, states])
    lossy /= len(rates)
    return np.where(predicted.lossy, lossy, math.prod(false.values()) * both)


def stuck_chance(look: LinkLook, place: int) -> float:
    """Probability of one end's lane error bits where they mean nothing."""
    lanes = (look.lanes[place] or frozenset()) - look.stuck[place]
    told = look.most_width - len(look.stuck[place])
    return STUCK_LANE ** len(lanes) * (1.0 - STUCK_LANE) ** max(0, told - len(lanes))


def signature(predicted: Predicted, look: LinkLook) -> Ints:
    """A number for what is predicted of the things that this look saw, the same where all that
    is the same: no further look of this kind tells such pairs of effects apart."""
    import numpy as np

    code: Ints = predicted.present.astype(np.int64)
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


def presence(
    table: Effects, predicted: Predicted, absent: bool, lost: bool, starts: Sequence[bool] = ()
) -> Floats:
    """Probability that the card came up, at every start, and stayed, as it did."""
    import numpy as np

    goes = along(table.lost, 0) | along(table.lost, 1)
    p_absent = np.where(predicted.present, 1 - _ABSENT_RIGHT, _ABSENT_RIGHT)
    p_lost = np.where(goes, _LOST_RIGHT, 1 - _LOST_RIGHT)
    stayed = p_lost if lost else 1.0 - p_lost
    failed, came = starts.count(False), starts.count(True)
    flaky = along(table.flaky, 0) | along(table.flaky, 1)
    at_starts = np.where(flaky, _starts(_FLAKY, failed, came), _starts(_FAILS, failed, came))
    if absent:
        return np.where(flaky, 0.3, p_absent)
    return at_starts * (1.0 - p_absent) * stayed


def _starts(chances: Sequence[float], failed: int, came: int) -> float:
    """Chance of so many failed starts, any of these chances of one as likely."""
    return sum(p**failed * (1.0 - p) ** came for p in chances) / len(chances)
