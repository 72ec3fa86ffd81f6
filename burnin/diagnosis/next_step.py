"""What to do next: the measurement that tells most for the time that it takes.

Times and chances of each outcome are beliefs, stated here.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache

from burnin.connector.contact_map import contacts
from burnin.core.meaning import Check
from burnin.diagnosis.candidates import Hypothesis
from burnin.diagnosis.effects import Effect
from burnin.diagnosis.faults import Fault, Where, contact_order
from burnin.diagnosis.meanings import NextCheck
from burnin.diagnosis.posterior import Posterior
from burnin.diagnosis.worth import Outcomes, expected_bits

WORTH_BITS = 0.03
"""A measurement expected to tell less than this is not proposed."""

_GONE: dict[NextCheck, dict[Where, float]] = {
    NextCheck.RESEAT: {
        Where.CONTACT: 0.12,
        Where.PAIR: 0.03,
        Where.SLOT_CONTACT: 0.25,
        Where.SEATING: 0.90,
        Where.RISER: 0.10,
    },
    NextCheck.OTHER_SLOT: {
        Where.CONTACT: 0.05,
        Where.SLOT_CONTACT: 0.97,
        Where.SLOT_WIRING: 0.85,
        Where.RISER: 0.70,
        Where.SEATING: 0.90,
        Where.HOST_SPEED: 0.50,
        Where.POWER_SAVING: 0.15,
        Where.POWER_PATH: 0.20,
        Where.JOINT: 0.05,
    },
    NextCheck.NO_RISER: {
        Where.RISER: 0.95,
        Where.SLOT_CONTACT: 0.30,
        Where.SEATING: 0.80,
        Where.CONTACT: 0.05,
    },
}
"""Chance that a fault shows no more afterwards; 0.02 where nothing is said."""
_GONE_ELSE = 0.02


@dataclass(frozen=True)
class Step:
    """A measurement with the minutes that it takes and what it is expected to tell, bits."""

    check: Check
    minutes: float
    bits: float

    @property
    def bits_a_minute(self) -> float:
        """What it tells for the time."""
        return self.bits / self.minutes


@dataclass(frozen=True)
class _Measurement:
    check: Check
    minutes: float
    outcomes: Callable[[tuple[Fault, ...]], Outcomes]


def next_steps(posterior: Posterior, most: int = 3) -> list[Step]:
    """The measurements that tell most a minute, best first; none where none is worth its time."""
    causes = [cause for cause in posterior.hypotheses() if cause[1] > 1e-6]
    found = [
        Step(a.check, a.minutes, expected_bits(causes, a.outcomes))
        for a in _measurements(posterior, causes)
    ]
    worth = [step for step in found if step.bits >= WORTH_BITS]
    best: dict[str, Step] = {}
    for step in sorted(worth, key=lambda step: -step.bits_a_minute):
        best.setdefault(step.check.code, step)
    return list(best.values())[:most]


def _measurements(posterior: Posterior, causes: Sequence[Hypothesis]) -> list[_Measurement]:
    found = [
        _Measurement(NextCheck.RESEAT(), 4.0, _afterwards(NextCheck.RESEAT)),
        _Measurement(NextCheck.OTHER_SLOT(), 6.0, _afterwards(NextCheck.OTHER_SLOT)),
        _Measurement(NextCheck.NO_RISER(), 5.0, _afterwards(NextCheck.NO_RISER)),
        _Measurement(NextCheck.HOST_SET_UP(), 2.0, _host),
        _Measurement(NextCheck.LOWER_SPEED(), 6.0, _lower(posterior)),
        _Measurement(NextCheck.TWELVE_VOLTS(), 8.0, _twelve_volts),
    ]
    looks = posterior.evidence.looks
    if looks and all(look.lanes == (None, None) for look in looks):
        found.append(_Measurement(NextCheck.LANE_REGISTERS(), 1.5, _registers(posterior)))
    if looks and not any(look.warm for look in looks):
        found.append(_Measurement(NextCheck.WARM_CARD(), 10.0, _warm(posterior)))
    return found + _meter(causes)


def _afterwards(what: NextCheck) -> Callable[[tuple[Fault, ...]], Outcomes]:
    gone = _GONE[what]

    def outcomes(faults: tuple[Fault, ...]) -> Outcomes:
        if not faults:
            return {"as before": 1.0}
        stays = [1.0 - gone.get(fault.where, _GONE_ELSE) for fault in faults]
        cured = math.prod(1.0 - p for p in stays)
        kept = math.prod(stays)
        return {"as before": kept, "sound": cured, "changed": max(0.0, 1.0 - kept - cured)}

    return outcomes


def _host(faults: tuple[Fault, ...]) -> Outcomes:
    answers: dict[Where, tuple[str, float]] = {
        Where.HOST_SPEED: ("speed is held", 0.95),
        Where.POWER_SAVING: ("power saving is on", 0.90),
        Where.SLOT_WIRING: ("fewer lanes are wired", 0.85),
    }
    for fault in faults:
        if fault.where in answers:
            told, chance = answers[fault.where]
            return {told: chance, "as it should be": 1.0 - chance}
    return {"as it should be": 0.97, "speed is held": 0.01, "fewer lanes are wired": 0.02}


def _lower(posterior: Posterior) -> Callable[[tuple[Fault, ...]], Outcomes]:
    """Margin comes back one generation lower; what the host holds follows the set-up."""

    @cache
    def marginal(fault: Fault) -> float:
        effects = posterior.effects_of(fault)
        return sum(p for e, p in effects.items() if e.kind in ("marginal", "lossy"))

    def outcomes(faults: tuple[Fault, ...]) -> Outcomes:
        if any(fault.where is Where.HOST_SPEED for fault in faults):
            return {"speed follows the set-up": 0.95, "as before": 0.05}
        better = 0.8 * max((marginal(fault) for fault in faults), default=0.0)
        return {"clean there": better, "as before": 1.0 - better}

    return outcomes


def _twelve_volts(faults: tuple[Fault, ...]) -> Outcomes:
    if any(fault.where is Where.POWER_PATH for fault in faults):
        return {"sags": 0.85, "holds": 0.15}
    return {"sags": 0.03, "holds": 0.97}


def _lane_of(fault: Fault) -> str:
    known = [contacts()[name] for name in fault.contacts]
    lanes = sorted({f"lane {c.lane} of side {c.side}" for c in known if c.lane is not None})
    return lanes[0] if lanes else ""


def _registers(posterior: Posterior) -> Callable[[tuple[Fault, ...]], Outcomes]:
    """A lane's bit comes with its errors: not from a dead lane, not below 8 GT/s."""

    def shown(effect: Effect) -> bool:
        fast = effect.generation + (effect.regime == "burst") >= 3
        return effect.kind == "marginal" and effect.regime != "clean" and fast

    @cache
    def chance(fault: Fault) -> float:
        return 0.9 * sum(p for effect, p in posterior.effects_of(fault).items() if shown(effect))

    def outcomes(faults: tuple[Fault, ...]) -> Outcomes:
        found, missed = {}, 1.0
        for fault in faults:
            lane = _lane_of(fault)
            if lane and lane not in found:
                found[lane] = missed * chance(fault)
                missed *= 1.0 - chance(fault)
        return found | {"no lane": missed}

    return outcomes


def _warm(posterior: Posterior) -> Callable[[tuple[Fault, ...]], Outcomes]:
    @cache
    def chance(fault: Fault) -> float:
        return sum(p for effect, p in posterior.effects_of(fault).items() if effect.warm_only)

    def outcomes(faults: tuple[Fault, ...]) -> Outcomes:
        worse = max((chance(fault) for fault in faults), default=0.0)
        return {"worse": worse, "as before": 1.0 - worse}

    return outcomes


AT_ONCE = (1, 2, 4, 6)
"""Contacts of one round with the meter: nobody keeps more of them in mind (common practice)."""
_SEEN_BY_METER = {Where.CONTACT: 0.92, Where.PAIR: 0.97, Where.CAPACITOR: 0.85}
"""Chance that a meter sees such a fault at the contact that it measures."""


def _meter(causes: Sequence[Hypothesis]) -> list[_Measurement]:
    """Contacts measured against ground and against each other, the suspected ones first."""
    mass: dict[str, float] = {}
    for faults, probability in causes:
        for fault in faults:
            if fault.where in _SEEN_BY_METER:
                for name in fault.contacts:
                    mass[name] = mass.get(name, 0.0) + probability
    order = sorted(mass, key=lambda name: (-mass[name], name))
    found = []
    for count in AT_ONCE:
        if count > len(order):
            break
        names = order[:count]
        along_the_edge = sorted(names, key=contact_order)
        check = NextCheck.METER(contacts=tuple(along_the_edge))
        outcomes = _measured(frozenset(names))
        found.append(_Measurement(check, meter_minutes(count), outcomes))
    return found


def meter_minutes(count: int) -> float:
    """What a round of the meter takes: the card out and back, and each contact (estimate)."""
    return 5.0 + 0.5 * count


def _measured(names: frozenset[str]) -> Callable[[tuple[Fault, ...]], Outcomes]:
    def outcomes(faults: tuple[Fault, ...]) -> Outcomes:
        missed, found = 1.0, {}
        for fault in faults:
            chance = _SEEN_BY_METER.get(fault.where, 0.0)
            if chance and fault.contacts & names:
                what = f"{fault.where} {'+'.join(sorted(fault.contacts & names))}"
                found[what] = missed * chance
                missed *= 1.0 - chance
        return found | {"all alike": missed}

    return outcomes
