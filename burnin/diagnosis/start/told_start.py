"""What keeps a card from starting or staying, as it is told: a claim, and groups of suspects."""

from __future__ import annotations

from burnin.core.meaning import Cause, Reason
from burnin.diagnosis.claims import SuspectGroup
from burnin.diagnosis.evidence import Evidence
from burnin.diagnosis.meanings import Claim, Conclusion, StartCause
from burnin.diagnosis.start.explain_start import StartCandidate, StartSuspect
from burnin.diagnosis.start.start_faults import StartPlace

_SHARE_TOLD = 0.01
_POINT_TOLD = 0.05
"""A place is told with at least that share of its candidate, a point of it with this of the
place."""
_AT_CONTACTS = {
    StartPlace.CLOCK: StartCause.CLOCK, StartPlace.RESET: StartCause.RESET,
    StartPlace.PRESENCE: StartCause.PRESENCE, StartPlace.GROUND: StartCause.GROUND,
    StartPlace.LANE_ZERO: StartCause.LANE_ZERO,
    StartPlace.SUPPLY_CONTACT: StartCause.SUPPLY_CONTACT,
    StartPlace.SENSE_LINE: StartCause.SENSE_LINE, StartPlace.RAIL_SHORT: StartCause.RAIL_SHORT,
}  # fmt: skip
_ALONE = {
    StartPlace.SUPPLY_UNIT: StartCause.SUPPLY_UNIT, StartPlace.POWER_PATH: StartCause.POWER_PATH,
    StartPlace.JOINT: StartCause.JOINT, StartPlace.SEATING: StartCause.SEATING,
    StartPlace.ELSE: StartCause.SOMETHING_ELSE,
}  # fmt: skip


def claim_of_start(evidence: Evidence) -> Cause:
    """What such a card does."""
    if evidence.absent:
        return Claim.NOT_UP()
    if evidence.lost:
        return Claim.LEAVES_THE_BUS()
    return Claim.UP_AT_TIMES() if not all(evidence.starts) else Claim.BESIDE_THE_LANES()


def conclusion_of_start(
    evidence: Evidence, cause: Cause, probability: float
) -> Reason | None:
    """The same with the one cause that is likelier than not; None where the claim says it all."""
    if evidence.absent:
        return Conclusion.DOES_NOT_START(cause=cause, probability=probability)
    if evidence.lost:
        return Conclusion.LEAVES(cause=cause, probability=probability)
    if not all(evidence.starts):
        return Conclusion.STARTS_AT_TIMES(cause=cause, probability=probability)
    return None


def groups_of_start(candidate: StartCandidate, whole: float) -> tuple[SuspectGroup, ...]:
    """Its suspects by place, most probable first; together they have the probability `whole`."""
    every = sum(suspect.probability for suspect in candidate.suspects)
    by_place: dict[StartPlace, list[StartSuspect]] = {}
    for suspect in candidate.suspects:
        if suspect.place is not StartPlace.NOTHING:
            by_place.setdefault(suspect.place, []).append(suspect)
    found = [_group(place, part, whole / every) for place, part in by_place.items() if every]
    told = [group for group in found if group.probability >= _SHARE_TOLD * whole]
    return tuple(sorted(told, key=lambda group: -group.probability))


def _group(place: StartPlace, suspects: list[StartSuspect], scale: float) -> SuspectGroup:
    at: dict[str, float] = {}
    for suspect in suspects:
        for point in suspect.points:
            at[point] = at.get(point, 0.0) + suspect.probability
    whole = sum(suspect.probability for suspect in suspects)
    ranked = sorted(at.items(), key=lambda pair: -pair[1])
    points = tuple(point for point, mass in ranked if mass >= _POINT_TOLD * whole)
    probability = scale * whole
    each = probability / max(1, len(points))
    return SuspectGroup(place, _cause(place, points), points or (str(place),), probability, each)


def _cause(place: StartPlace, points: tuple[str, ...]) -> Cause:
    if place in _ALONE:
        return _ALONE[place]()
    if place is StartPlace.SENSE_LINE and not points:
        return StartCause.ANY_SENSE_LINE()  # nobody named the plug
    return _AT_CONTACTS[place](contacts=points)
