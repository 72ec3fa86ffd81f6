"""What keeps a card from starting, or robs its rails: by starts, meter, ticket and sense lines.

P(fault | seen) is proportional to its weight times how probable it makes everything seen (Bayes'
rule). Faults that predict the same of all that was looked at are one candidate: no more of the same
looking tells them apart. Beeps of a board say that no picture came, which an absent card says
already. Chances are beliefs (common practice at a bench, no source), but for what sense lines
allow (`connectors.toml` names its sources) and the slot's share of power (PCI Express Card
Electromechanical: 5.5 A at 12 V, from memory).
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

from burnin.connector.other_connectors import connectors
from burnin.connector.plug_effects import sense_row
from burnin.diagnosis.point_state import PointSaid, PointState
from burnin.diagnosis.prior import ticket_says
from burnin.diagnosis.start.start_faults import (
    Course,
    StartFault,
    StartPlace,
    sense_lines,
    start_faults,
)


@dataclass(frozen=True)
class StartLook:
    """What speaks of starts and rails; None where it was not seen.

    `starts`: of each cold start, whether the card came up; `damaged`: edge contacts that the ticket
    names; `plug` and `edge_lanes` as in `start_faults`; `sensed_w`: what the card takes its plug
    for; `asked_w` and `held_w`: the most power that was asked of it within its own limit, and where
    it was held though more was asked; `sags`: whether slot and plug volts sank below their range.
    """

    absent: bool = False
    lost: bool = False
    starts: tuple[bool, ...] = ()
    said: tuple[PointSaid, ...] = ()
    damaged: tuple[str, ...] = ()
    plug: str | None = None
    edge_lanes: int | None = None
    sensed_w: float | None = None
    asked_w: float | None = None
    held_w: float | None = None
    sags: tuple[bool | None, bool | None] = (None, None)


@dataclass(frozen=True)
class StartSuspect:
    """A place, its contacts (or the rail), and its share of all probability."""

    place: StartPlace
    points: tuple[str, ...]
    probability: float


@dataclass(frozen=True)
class StartCandidate:
    """Suspects that nothing seen tells apart, most probable first. `nothing`: that nothing is
    wrong, or nothing that would have shown, is among them."""

    probability: float
    nothing: bool
    suspects: tuple[StartSuspect, ...]


_METER: dict[PointState, dict[PointState, float]] = {
    "alike": {"alike": 0.9985, "open": 0.0006, "off": 0.0006, "low": 0.0003},
    "open": {"alike": 0.06, "open": 0.92, "off": 0.017, "low": 0.003},
    "off": {"alike": 0.30, "open": 0.03, "off": 0.66, "low": 0.01},
    "low": {"alike": 0.03, "open": 0.003, "off": 0.007, "low": 0.96},
}
"""Chance of a meter's word, by the word that is expected at the point."""
_METER_ELSE = {"alike": 0.991, "open": 0.003, "off": 0.003, "low": 0.003}
_ABSENT_RIGHT, _FLAKY_ABSENT, _CAME_ALL_THE_SAME = 0.9995, 0.2, 1e-4
_LOST_CHANCE = {Course.LOST: 0.9995, Course.HANGS: 0.8, Course.FLAKY: 0.01}
_STAYS_LOST = 0.0005
_FAILS, _FLAKY_FAILS = 0.003, (0.15, 0.3, 0.45, 0.6, 0.75)
"""Chance that one start fails: of a card that comes up, and of one that does so at times."""
_HANGS_AT_STARTS = 0.4
_SLOT_W = 66.0
_BUDGET_RIGHT, _BUDGET_OTHER, _WEAK_SUPPLY = 0.98, 0.005, 0.01
_HELD_WITHIN, _HELD, _HELD_ELSEWHERE, _HELD_NO_CAUSE = 0.025, 0.93, 0.01, 0.01
_SAGS, _SAGS_NOT = 0.75, 0.03
_OFF_EDGE = 0.8
"""How much rarer a ticket names contacts of the edge where the fault is none of them."""


def explain_start(look: StartLook) -> tuple[StartCandidate, ...]:
    """Candidates, most probable first; they add up to 1."""
    measured = [said.point for said in look.said]
    masses: dict[Hashable, list[tuple[StartFault, float]]] = {}
    for fault in start_faults(look.plug, look.edge_lanes, measured):
        mass = fault.weight * _chance(fault, look)
        masses.setdefault(_shows(fault, look), []).append((fault, mass))
    whole = sum(mass for part in masses.values() for _, mass in part)
    found = [_candidate(part, whole) for part in masses.values()]
    return tuple(sorted(found, key=lambda candidate: -candidate.probability))


def _candidate(part: Sequence[tuple[StartFault, float]], whole: float) -> StartCandidate:
    """Faults of one place and points are one suspect, whatever they would show elsewhere."""
    by_place: dict[tuple[StartPlace, tuple[str, ...]], float] = {}
    for fault, mass in part:
        key = fault.place, fault.points
        by_place[key] = by_place.get(key, 0.0) + mass / whole
    suspects = [StartSuspect(*key, probability) for key, probability in by_place.items()]
    suspects.sort(key=lambda suspect: -suspect.probability)
    nothing = any(suspect.place is StartPlace.NOTHING for suspect in suspects)
    return StartCandidate(sum(by_place.values()), nothing, tuple(suspects))


def told(candidate: StartCandidate, least: float = 0.01) -> tuple[StartSuspect, ...]:
    """Suspects that carry at least a little of their candidate; none where nothing is wrong."""
    if candidate.nothing:
        return ()
    return tuple(s for s in candidate.suspects if s.probability >= least * candidate.probability)


def _shows(fault: StartFault, look: StartLook) -> Hashable:
    """What it predicts of all that was looked at: the same for faults that nothing tells apart."""
    if fault.place is StartPlace.ELSE:
        return StartPlace.ELSE
    points = {said.point for said in look.said}.intersection(fault.points)
    words = frozenset((point, fault.meter) for point in points if fault.meter != "alike")
    return fault.course, words, _sense_shown(fault, look)


def _chance(fault: StartFault, look: StartLook) -> float:
    """Probability of everything that was seen, by one fault."""
    found = _presence(fault.course, look) * _ticket(fault, look)
    for said in look.said:
        expected = fault.meter if said.point in fault.points else "alike"
        found *= (_METER_ELSE if fault.place is StartPlace.ELSE else _METER[expected])[said.state]
    return found * _sense(fault, look) * _sagging(fault, look)


def _presence(course: Course, look: StartLook) -> float:
    """Whether the card was there, stayed, and came up at each start."""
    failed, came = look.starts.count(False), look.starts.count(True)
    steady = _FAILS**failed * (1.0 - _FAILS) ** came
    at_times = sum(p**failed * (1.0 - p) ** came for p in _FLAKY_FAILS) / len(_FLAKY_FAILS)
    if course is Course.ABSENT:
        there = _ABSENT_RIGHT if look.absent else 1.0 - _ABSENT_RIGHT
        return there * _CAME_ALL_THE_SAME**came
    absent = 1.0 - _ABSENT_RIGHT
    if course is Course.FLAKY:
        absent, steady = _FLAKY_ABSENT, at_times
    if course is Course.HANGS:
        absent = _FLAKY_ABSENT
        steady = _HANGS_AT_STARTS * at_times + (1.0 - _HANGS_AT_STARTS) * steady
    if look.absent:
        return absent * steady
    lost = _LOST_CHANCE.get(course, _STAYS_LOST)
    return (1.0 - absent) * steady * (lost if look.lost else 1.0 - lost)


def _ticket(fault: StartFault, look: StartLook) -> float:
    if not look.damaged or fault.place is StartPlace.NOTHING:
        return 1.0
    on_edge = [point for point in fault.points if point[:1] in "AB" and point[1:].isdigit()]
    if not on_edge:
        return _OFF_EDGE
    return ticket_says(frozenset(on_edge), frozenset(look.damaged))


def _budgets_w(fault: StartFault, plug: str) -> tuple[float, ...]:
    """What the card may take its plug for, each as likely: with one of two lines open the rows of
    the 12V-2x6 are known at second hand only, so either may hold."""
    lines = sense_lines(plug)
    if fault.place is not StartPlace.SENSE_LINE or fault.course is not Course.STAYS:
        return (connectors()[plug].budget_w,)
    alone = [c for c in lines if c.name in fault.points]
    told = [c for c in lines if plug == "12v2x6"] or alone or list(lines)
    found = []
    for opened in told:
        state = {c.signal: "open" if c is opened else "ground" for c in lines}
        row = sense_row(connectors()[plug], state)
        found.append(0.0 if row is None else row.running_w or 0.0)
    return tuple(dict.fromkeys(found))


def _sense(fault: StartFault, look: StartLook) -> float:
    if not look.plug:
        return 1.0
    budgets_w = _budgets_w(fault, look.plug)
    return sum(_told_w(w, look) * _held(w, look) for w in budgets_w) / len(budgets_w)


def _told_w(budget_w: float, look: StartLook) -> float:
    """Of what the card takes its plug for; a supply may be a weak one by itself."""
    if look.sensed_w is None or look.plug is None:
        return 1.0
    if abs(look.sensed_w - budget_w) < 1.0:
        return _BUDGET_RIGHT
    full = budget_w == connectors()[look.plug].budget_w
    return _WEAK_SUPPLY if full else _BUDGET_OTHER


def _held(budget_w: float, look: StartLook) -> float:
    """Of where the card was held, if slot and plug give no more than that."""
    if look.asked_w is None:
        return 1.0
    most_w = _SLOT_W + budget_w
    holds = most_w < look.asked_w * (1.0 - _HELD_WITHIN)
    if look.held_w is None:
        return 1.0 - _HELD if holds else 1.0 - _HELD_NO_CAUSE
    if not holds:
        return _HELD_NO_CAUSE
    return _HELD if abs(look.held_w / most_w - 1.0) < _HELD_WITHIN else _HELD_ELSEWHERE


def _sense_shown(fault: StartFault, look: StartLook) -> Hashable:
    """What of the sense lines this fault lets be seen; None where nothing is."""
    if not look.plug or look.absent:
        return None
    budgets_w = _budgets_w(fault, look.plug)
    most_w = [_SLOT_W + w for w in budgets_w]
    held = look.asked_w is not None and any(w < look.asked_w for w in most_w)
    if look.sensed_w is None and not held:
        return None
    return None if budgets_w == (connectors()[look.plug].budget_w,) else budgets_w


def _sagging(fault: StartFault, look: StartLook) -> float:
    """A unit sags everywhere, a contact at its own connector, if the card left under load."""
    found = 1.0
    for at, sags in (("slot", look.sags[0]), ("plug", look.sags[1])):
        if sags is None:
            continue
        mine = fault.place is StartPlace.SUPPLY_UNIT
        if fault.place is StartPlace.SUPPLY_CONTACT and fault.course is Course.LOST:
            mine = at == ("plug" if "/" in fault.points[0] else "slot")
        chance = _SAGS if mine else _SAGS_NOT
        found *= chance if sags else 1.0 - chance
    return found
