"""What to do next: the measurement that tells most for the time that it takes.

The worth of a measurement is the expected fall of entropy over the causes, in bits: the entropy of
its outcome less the mean entropy of the outcome once the cause is known (Lindley, Annals of
Mathematical Statistics 27, 1956). Times and chances of each outcome are beliefs, stated here.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache

from burnin.connector.contact_map import contacts
from burnin.diagnosis.effects import Effect
from burnin.diagnosis.explanation import Cause
from burnin.diagnosis.faults import Fault, Where
from burnin.diagnosis.posterior import Posterior

Outcomes = Mapping[str, float]

WORTH_BITS = 0.03
"""A measurement expected to tell less than this is not proposed."""

_GONE: dict[str, dict[Where, float]] = {
    "reseat": {"contact": 0.12, "pair": 0.03, "slot contact": 0.25, "seating": 0.90, "riser": 0.10},
    "other slot": {
        "contact": 0.05, "slot contact": 0.97, "slot wiring": 0.85, "riser": 0.70, "seating": 0.90,
        "host speed": 0.50, "power saving": 0.15, "power path": 0.20, "joint": 0.05,
    },
    "no riser": {"riser": 0.95, "slot contact": 0.30, "seating": 0.80, "contact": 0.05},
}
"""Chance that a fault shows no more afterwards; 0.02 where nothing is said."""
_GONE_ELSE = 0.02


@dataclass(frozen=True)
class Step:
    """A measurement with the minutes that it takes and what it is expected to tell, bits."""

    name: str
    text: str
    minutes: float
    bits: float

    @property
    def bits_a_minute(self) -> float:
        """What it tells for the time."""
        return self.bits / self.minutes


@dataclass(frozen=True)
class _Try:
    name: str
    text: str
    minutes: float
    outcomes: Callable[[tuple[Fault, ...]], Outcomes]


def entropy_bits(chances: Iterable[float]) -> float:
    """Shannon entropy of chances that add up to 1, bits."""
    return -sum(p * math.log2(p) for p in chances if p > 0.0)


def expected_bits(
    causes: Sequence[Cause], outcomes: Callable[[tuple[Fault, ...]], Outcomes]
) -> float:
    """What a measurement is expected to tell of the causes, bits; never below 0."""
    overall: dict[str, float] = {}
    known = 0.0
    for faults, probability in causes:
        chances = outcomes(faults)
        known += probability * entropy_bits(chances.values())
        for outcome, chance in chances.items():
            overall[outcome] = overall.get(outcome, 0.0) + probability * chance
    return max(0.0, entropy_bits(overall.values()) - known)


def next_steps(posterior: Posterior, most: int = 3) -> list[Step]:
    """The measurements that tell most a minute, best first; none where none is worth its time."""
    causes = [cause for cause in posterior.causes() if cause[1] > 1e-6]
    found = [
        Step(a.name, a.text, a.minutes, expected_bits(causes, a.outcomes))
        for a in _tries(posterior, causes)
    ]
    worth = [step for step in found if step.bits >= WORTH_BITS]
    best: dict[str, Step] = {}
    for step in sorted(worth, key=lambda step: -step.bits_a_minute):
        best.setdefault(step.name, step)
    return list(best.values())[:most]


def _tries(posterior: Posterior, causes: Sequence[Cause]) -> list[_Try]:
    found = [
        _Try("reseat", "Take the card out, clean edge and slot, seat it again, run the link stage.",
             4.0, _afterwards("reseat")),
        _Try("other slot", "Run the link stage in another slot that is known to be good.",
             6.0, _afterwards("other slot")),
        _Try("no riser", "If a riser is in use: leave it out, or turn it round, and run the link"
             " stage.", 5.0, _afterwards("no riser")),
        _Try("host set-up", "Look into the host's set-up and its manual: speed and lanes of this"
             " slot, link power saving.", 2.0, _host),
        _Try("lower speed", "Let the host's set-up hold the slot one generation lower and run the"
             " link stage; set it back afterwards.", 6.0, _lower(posterior)),
        _Try("12 V under load", "Measure the 12 V at the card's slot contacts and plugs under"
             " load.", 8.0, _twelve_volts),
    ]  # fmt: skip
    looks = posterior.evidence.looks
    if looks and all(look.lanes == (None, None) for look in looks):
        found.append(
            _Try("lane registers", "Run the link stage as root: the lane error registers of both"
                 " ends name lane and direction.", 1.5, _registers(posterior))
        )  # fmt: skip
    if looks and not any(look.warm for look in looks):
        found.append(
            _Try("warm card", "Run the link stage again straight after a heat run.", 10.0,
                 _warm(posterior))
        )
    return found + _meter(causes)


def _afterwards(name: str) -> Callable[[tuple[Fault, ...]], Outcomes]:
    gone = _GONE[name]

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
        "host speed": ("speed is held", 0.95),
        "power saving": ("power saving is on", 0.90),
        "slot wiring": ("fewer lanes are wired", 0.85),
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
        if any(fault.where == "host speed" for fault in faults):
            return {"speed follows the set-up": 0.95, "as before": 0.05}
        better = 0.8 * max((marginal(fault) for fault in faults), default=0.0)
        return {"clean there": better, "as before": 1.0 - better}

    return outcomes


def _twelve_volts(faults: tuple[Fault, ...]) -> Outcomes:
    if any(fault.where == "power path" for fault in faults):
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


def _meter(causes: Sequence[Cause]) -> list[_Try]:
    """Contacts measured against ground and against each other, the suspected ones first."""
    mass: dict[str, float] = {}
    for faults, probability in causes:
        for fault in faults:
            if fault.where in ("contact", "pair", "capacitor"):
                for name in fault.contacts:
                    mass[name] = mass.get(name, 0.0) + probability
    order = sorted(mass, key=lambda name: (-mass[name], name))
    found = []
    for count in (1, 2, 4, 8, 16, 32):
        if count > len(order):
            break
        names = order[:count]
        text = (
            f"Card out and discharged: measure {', '.join(sorted(names, key=_place))} in diode mode"
            " to ground and compare the readings; on side A also past the coupling capacitor."
        )
        found.append(_Try("meter", text, 5.0 + 0.5 * count, _measured(frozenset(names))))
    return found


def _place(name: str) -> tuple[str, int]:
    return name[0], int(name[1:])


def _measured(names: frozenset[str]) -> Callable[[tuple[Fault, ...]], Outcomes]:
    seen_by: dict[Where, float] = {"contact": 0.92, "pair": 0.97, "capacitor": 0.85}

    def outcomes(faults: tuple[Fault, ...]) -> Outcomes:
        missed, found = 1.0, {}
        for fault in faults:
            chance = seen_by.get(fault.where, 0.0)
            if chance and fault.contacts & names:
                what = f"{fault.where} {'+'.join(sorted(fault.contacts & names))}"
                found[what] = missed * chance
                missed *= 1.0 - chance
        return found | {"all alike": missed}

    return outcomes
