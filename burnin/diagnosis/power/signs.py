"""What limits, the power that was reached, a meter and the ticket say for or against a fault.

The chances are beliefs (common practice at a bench, no source) unless a text names another.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from enum import StrEnum

from burnin.diagnosis.power.faults import Effect, PowerCause, PowerFault, budget_w
from burnin.diagnosis.power.look import POWER_LIMIT, SUPPLY_BRAKE, PowerLook, PowerStep
from burnin.diagnosis.power.paths import PathReadings

SLOT_W = 66.0
"""12 V of the slot: 5.5 A (PCI Express CEM, x16 slot)."""
_REACHED = 0.955
"""A step that got this share of what was asked was reached."""
_LIES = 0.10
"""A meter that is off by more than this, though nothing held the card, does not tell the power."""


class Reach(StrEnum):
    """How the power went with what was asked."""

    UNTRIED = "untried"
    FULL = "full"
    AT_LIMIT = "held at the card's limit"
    BELOW_LIMIT = "held below the card's limit"
    SAGS = "full, with the supply's brake"
    BRAKED = "held by the supply's brake"
    UNTOLD = "held without a word"
    LIES = "not what was asked though nothing held it"


_REACH: dict[PowerCause, dict[Reach, float]] = {
    PowerCause.SOUND: {Reach.UNTOLD: 0.01},
    PowerCause.UNIT: {Reach.SAGS: 0.38, Reach.BRAKED: 0.03, Reach.UNTOLD: 0.01},
    PowerCause.LIMIT: {Reach.AT_LIMIT: 0.95, Reach.UNTOLD: 0.01},
    PowerCause.CONTACT: {Reach.UNTOLD: 0.01},
    PowerCause.ELSE: {
        Reach.LIES: 0.45, Reach.BRAKED: 0.42, Reach.UNTOLD: 0.04, Reach.BELOW_LIMIT: 0.03,
        Reach.SAGS: 0.02, Reach.AT_LIMIT: 0.005,
    },
}  # fmt: skip
"""Chances of what is not full power; the rest, but for `_RARE` each, is full power."""
_REACH_UNTOLD: dict[Reach, float] = {
    Reach.AT_LIMIT: 0.45, Reach.BELOW_LIMIT: 0.15, Reach.UNTOLD: 0.05,
}  # fmt: skip
"""The same by a sense line of a plug that nobody named."""
_RARE = 0.002
_UNTOLD_AT_BUDGET = 0.15
"""Not every card's driver names the sense lines' budget as a limit."""
_LIMIT_LOW = {PowerCause.LIMIT: 0.97}
_LIMIT_LOW_ELSE = 0.003
_LOWERED_BY_SENSE = 0.25
"""Drivers that give the sense lines' budget as the limit in force; nothing else tells the lines."""
_BUDGETS_W = (75.0, 150.0, 225.0, 300.0, 375.0, 450.0, 525.0, 675.0)
"""What slot and plugs allow together with lines open (PCI Express CEM: 75 W of the slot, 75 and
150 W of the older plugs, 150 to 600 W of the newer one)."""
_SET_TO_A_BUDGET = 0.15
"""Limits that somebody set which are such a sum by chance."""
_ABSENT = {
    PowerCause.SENSE: 0.12, PowerCause.ELSE: 0.03, PowerCause.UNIT: 0.004,
    PowerCause.CONTACT: 0.003, PowerCause.SOUND: 0.001, PowerCause.LIMIT: 0.001,
}  # fmt: skip
_RAIL_SHORT = {PowerCause.ELSE: 0.10}
_RAIL_SHORT_OHM, _RAIL_SHORT_ELSE = 1.5, 0.002
_TOUCH_OHM: tuple[float, float] = (0.3, 0.15)
"""A sound contact to the rail behind it, with the leads (estimate)."""
_TOUCH_SOUND = 0.40
"""Share of resistive contacts that a meter's small current shows as sound (estimate)."""
_MOST_OHM = 200.0
_OPEN, _OPEN_SOUND = 0.95, 0.003
_NAMED, _NAMED_SOUND = 0.045, 0.008
"""A ticket names a bad contact, and one that is sound: it says where somebody looked."""


def signs(fault: PowerFault, look: PowerLook) -> float:
    """Logarithm of the chance of all that was read beside the voltages, by one fault."""
    absent = _ABSENT[fault.cause]
    found = math.log(absent if look.absent else 1.0 - absent)
    reach = reach_of(look)
    if reach is not Reach.UNTRIED:
        found += math.log(_reach_chance(fault, look, reach))
    found += _limit(fault, look) + _sensed(fault, look)
    return found + _meter(fault, look) + _ticket(fault, look)


def could_show(fault: PowerFault, look: PowerLook, paths: PathReadings) -> bool:
    """Whether anything that was read could have told a fault from a sound card."""
    if any(contact in look.meter_ohm for contact in fault.contacts):
        return True
    if fault.path is not None:
        return paths.reads(fault.path)
    if fault.cause is PowerCause.SENSE:
        return look.absent or look.sensed_limit_w is not None or _stops(fault, look)
    return True


def reach_of(look: PowerLook) -> Reach:
    """How the power went with what was asked, over all steps."""
    steps = [s for s in look.steps if s.asked_w > 0.0 and math.isfinite(s.power_w)]
    if not steps:
        return Reach.UNTRIED
    words = {word for step in steps for word in step.throttle}
    free = [s.power_w / s.asked_w for s in steps if not s.throttle]
    if not words and _lies(free):
        return Reach.LIES
    held = [s for s in steps if s.power_w < _REACHED * _wanted_w(s, look)]
    if SUPPLY_BRAKE in words:
        return Reach.BRAKED if held else Reach.SAGS
    if not held:
        return Reach.FULL
    if POWER_LIMIT in words:
        return Reach.AT_LIMIT if _at_limit(look) else Reach.BELOW_LIMIT
    return Reach.UNTOLD


def _lies(shares: Sequence[float]) -> bool:
    """Whether the power told is off by about one factor; what holds a card spares its low steps."""
    if not shares or any(abs(share - 1.0) <= _LIES for share in shares):
        return False
    alike = len(shares) > 1 and max(shares) < 1.1 * max(min(shares), 0.0)
    return alike or min(shares) > 1.0


def _ceiling_w(look: PowerLook) -> float | None:
    """The most power of the steps that a power limit held, or of all where none is named, W."""
    held = [s.power_w for s in look.steps if POWER_LIMIT in s.throttle]
    return max(held or [s.power_w for s in look.steps], default=None)


def _wanted_w(step: PowerStep, look: PowerLook) -> float:
    """What a sound card would take: no more than the limit that it came with."""
    own_w = look.default_limit_w
    return min(step.asked_w, own_w) if own_w is not None and own_w > 0.0 else step.asked_w


def _at_limit(look: PowerLook) -> bool:
    ceiling_w = _ceiling_w(look)
    if ceiling_w is None or look.limit_w is None:
        return True
    return ceiling_w > 0.97 * look.limit_w


def _stops(fault: PowerFault, look: PowerLook) -> bool:
    """Whether the sense lines' budget and the slot together lie below what was asked."""
    asked_w = max((step.asked_w for step in look.steps), default=0.0)
    return fault.budget_w is not None and asked_w > 1.03 * (fault.budget_w + SLOT_W)


def _reach_chance(fault: PowerFault, look: PowerLook, reach: Reach) -> float:
    """A sense line holds the card at its budget and the slot's, where more was asked."""
    untold = _is_untold_sense(fault, look)
    if fault.cause is PowerCause.SENSE and fault.budget_w is not None and not untold:
        stops = _stops(fault, look)
        if reach is Reach.FULL:
            return 0.05 if stops else 0.95
        if reach not in (Reach.BELOW_LIMIT, Reach.AT_LIMIT, Reach.UNTOLD):
            return _RARE
        ceiling_w = _ceiling_w(look) or 0.0
        near = abs(ceiling_w - fault.budget_w - SLOT_W) < 0.08 * fault.budget_w + 8.0
        if not near:
            return 0.01
        return _UNTOLD_AT_BUDGET if reach is Reach.UNTOLD else 0.9
    chances = _REACH_UNTOLD if untold else _REACH.get(fault.cause, {})
    if reach is Reach.FULL:
        return 1.0 - sum(chances.values()) - _RARE * (len(Reach) - 2 - len(chances))
    return chances.get(reach, _RARE)


def _limit(fault: PowerFault, look: PowerLook) -> float:
    if look.limit_w is None or look.default_limit_w is None:
        return 0.0
    low = look.limit_w < 0.985 * look.default_limit_w
    if look.plug is None:
        return math.log(_limit_of_unknown_plug(fault, look.limit_w, low))
    chance = _LIMIT_LOW.get(fault.cause, _LIMIT_LOW_ELSE)
    return math.log(chance if low else 1.0 - chance)


def _is_untold_sense(fault: PowerFault, look: PowerLook) -> bool:
    """A sense line of a plug that nobody named: its budget is not known."""
    return fault.cause is PowerCause.SENSE and not fault.contacts and look.plug is None


def _limit_of_unknown_plug(fault: PowerFault, limit_w: float, low: bool) -> float:
    """Chance of the limit in force where nothing tells what the sense lines said."""
    is_budget = any(abs(limit_w - budget_w) < 0.015 * budget_w for budget_w in _BUDGETS_W)
    if fault.cause is PowerCause.SENSE:
        return _LOWERED_BY_SENSE * (0.9 if is_budget else 0.1) if low else 1.0 - _LOWERED_BY_SENSE
    if fault.cause is PowerCause.LIMIT:
        chance = _LIMIT_LOW[PowerCause.LIMIT]
        by_value = _SET_TO_A_BUDGET if is_budget else 1.0 - _SET_TO_A_BUDGET
        return chance * by_value if low else 1.0 - chance
    return _LIMIT_LOW_ELSE if low else 1.0 - _LIMIT_LOW_ELSE


def _sensed(fault: PowerFault, look: PowerLook) -> float:
    """What the sense lines tell, against what a whole plug of the kind allows."""
    whole_w = budget_w(look.plug)
    if look.sensed_limit_w is None or whole_w is None:
        return 0.0
    sensed_w = look.sensed_limit_w
    if fault.cause is PowerCause.SENSE and fault.budget_w is not None:
        if abs(sensed_w - fault.budget_w) < 5.0:
            return math.log(0.93)
        return math.log(0.05 if sensed_w < 0.97 * whole_w else 0.02)
    return math.log(0.004 if sensed_w < 0.97 * whole_w else 0.996)


def _meter(fault: PowerFault, look: PowerLook) -> float:
    found = 0.0
    for point, ohm in look.meter_ohm.items():
        if point == "supply_12v":
            short = ohm is not None and ohm < _RAIL_SHORT_OHM
            chance = _RAIL_SHORT.get(fault.cause, _RAIL_SHORT_ELSE)
            found += math.log(chance if short else 1.0 - chance)
        elif point in fault.contacts and fault.path is None:
            found += math.log(_OPEN if ohm is None else 1.0 - _OPEN)
        elif point in fault.contacts and fault.effect is not None:
            found += math.log(_bad_touch(ohm, fault.effect is Effect.OPEN))
        else:
            found += math.log(_sound_touch(ohm, point))
    return found


def _is_touch(point: str) -> bool:
    """Whether a sound line there is a short way: sense lines are read through their pull-ups."""
    return point not in ("6pin/5", "8pin/4", "8pin/6", "12v2x6/S3", "12v2x6/S4")


def _sound_touch(ohm: float | None, point: str) -> float:
    """Per ohm for a supply contact; for others only open or not."""
    if ohm is None:
        return _OPEN_SOUND
    return _normal_ohm(ohm) + 1e-5 if _is_touch(point) else 1.0 - _OPEN_SOUND


def _bad_touch(ohm: float | None, is_open: bool) -> float:
    if is_open:
        return _OPEN if ohm is None else (1.0 - _OPEN) * _log_even(ohm)
    if ohm is None:
        return 0.02
    return _TOUCH_SOUND * _normal_ohm(ohm) + (1.0 - _TOUCH_SOUND) * _log_even(ohm)


def _normal_ohm(ohm: float) -> float:
    mean, spread = _TOUCH_OHM
    off = max(-40.0, min(40.0, (ohm - mean) / spread))
    return math.exp(-0.5 * off * off) / (spread * math.sqrt(2.0 * math.pi))


def _log_even(ohm: float) -> float:
    """Even over logarithms from half an ohm on."""
    inside = 0.5 <= ohm <= _MOST_OHM
    return 1.0 / (ohm * math.log(_MOST_OHM / 0.5)) if inside else 1e-6


def _ticket(fault: PowerFault, look: PowerLook) -> float:
    named = set(look.damaged) | set(look.repaired)
    return sum(math.log(_NAMED / _NAMED_SOUND) for name in fault.contacts if name in named) + sum(
        math.log((1.0 - _NAMED) / (1.0 - _NAMED_SOUND))
        for name in fault.contacts
        if named and name not in named
    )
