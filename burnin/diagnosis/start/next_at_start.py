"""What to do next about a card that does not start or stay; chances are beliefs, stated here."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from burnin.core.meaning import Check
from burnin.diagnosis.meanings import NextCheck
from burnin.diagnosis.next_step import AT_ONCE, WORTH_BITS, Step, meter_minutes
from burnin.diagnosis.start.explain_start import StartCandidate, StartSuspect
from burnin.diagnosis.start.start_faults import StartPlace
from burnin.diagnosis.worth import Outcomes, expected_bits

_CURES: dict[NextCheck, dict[StartPlace, float]] = {
    NextCheck.RESEAT: {StartPlace.SEATING: 0.90, StartPlace.PRESENCE: 0.10, StartPlace.CLOCK: 0.10},
    NextCheck.OTHER_SLOT: {
        StartPlace.SEATING: 0.90, StartPlace.ELSE: 0.30, StartPlace.SUPPLY_CONTACT: 0.05,
    },
}  # fmt: skip
"""Chance that a fault shows no more afterwards; 0.02 where nothing is said."""
_CURES_ELSE = 0.02
_MINUTES = {NextCheck.RESEAT: 4.0, NextCheck.OTHER_SLOT: 6.0}
_SAGS = {
    StartPlace.SUPPLY_UNIT: 0.85, StartPlace.POWER_PATH: 0.85, StartPlace.SUPPLY_CONTACT: 0.3,
}  # fmt: skip
_SEEN_BY_METER = {
    StartPlace.CLOCK: 0.80, StartPlace.RESET: 0.80, StartPlace.PRESENCE: 0.97,
    StartPlace.LANE_ZERO: 0.80, StartPlace.SUPPLY_CONTACT: 0.97, StartPlace.SENSE_LINE: 0.95,
    StartPlace.RAIL_SHORT: 0.97, StartPlace.GROUND: 0.97,
}  # fmt: skip


def next_at_start(
    candidates: Sequence[StartCandidate], named: Sequence[str] = (), most: int = 3
) -> list[Step]:
    """What tells most a minute, best first; `named`: points that were measured, not asked again."""
    causes = [(s, s.probability) for c in candidates for s in c.suspects if s.probability > 1e-6]
    tries: list[tuple[Check, float, Callable[[StartSuspect], Outcomes]]] = [
        (code(), _MINUTES[code], _cured(cures)) for code, cures in _CURES.items()
    ]
    tries.append((NextCheck.TWELVE_VOLTS(), 8.0, _twelve_volts))
    tries += _meter(causes, frozenset(named))
    found = [Step(check, m, expected_bits(causes, outcomes)) for check, m, outcomes in tries]
    worth = [step for step in found if step.bits >= WORTH_BITS]
    best: dict[str, Step] = {}
    for step in sorted(worth, key=lambda step: -step.bits_a_minute):
        best.setdefault(step.check.code, step)
    return list(best.values())[:most]


def _cured(cures: dict[StartPlace, float]) -> Callable[[StartSuspect], Outcomes]:
    def outcomes(suspect: StartSuspect) -> Outcomes:
        gone = cures.get(suspect.place, _CURES_ELSE)
        return {"as before": 1.0 - gone, "sound": gone}

    return outcomes


def _twelve_volts(suspect: StartSuspect) -> Outcomes:
    sags = _SAGS.get(suspect.place, 0.03)
    return {"sags": sags, "holds": 1.0 - sags}


def _meter(
    causes: Sequence[tuple[StartSuspect, float]], done: frozenset[str]
) -> list[tuple[Check, float, Callable[[StartSuspect], Outcomes]]]:
    """Points to measure, the suspected ones first, as many as one keeps in mind."""
    mass: dict[str, float] = {}
    for suspect, probability in causes:
        for point in suspect.points if suspect.place in _SEEN_BY_METER else ():
            if point not in done:
                mass[point] = mass.get(point, 0.0) + probability / len(suspect.points)
    order = sorted(mass, key=lambda point: (-mass[point], point))
    return [
        (
            NextCheck.METER_AT_START(contacts=tuple(order[:count]), first=order[0]),
            meter_minutes(count),
            _measured(frozenset(order[:count])),
        )
        for count in AT_ONCE
        if count <= len(order)
    ]


def _measured(names: frozenset[str]) -> Callable[[StartSuspect], Outcomes]:
    def outcomes(suspect: StartSuspect) -> Outcomes:
        seen = _SEEN_BY_METER.get(suspect.place, 0.0) if names.intersection(suspect.points) else 0.0
        found = {"+".join(suspect.points): seen} if seen else {}
        return found | {"all alike": 1.0 - seen}

    return outcomes
