"""What keeps a card from starting, as causes to tell: each kind once, with its contacts."""

from __future__ import annotations

from collections.abc import Collection

from burnin.core.meaning import Cause
from burnin.diagnosis.evidence import Evidence
from burnin.diagnosis.meanings import StartCause
from burnin.diagnosis.start.explain_start import StartSuspect, explain_start
from burnin.diagnosis.start.of_evidence import look_at_start
from burnin.diagnosis.start.start_faults import StartPlace

_TOLD_FROM = 0.02
_AT_CONTACTS = {
    StartPlace.CLOCK: StartCause.CLOCK, StartPlace.RESET: StartCause.RESET,
    StartPlace.PRESENCE: StartCause.PRESENCE, StartPlace.GROUND: StartCause.GROUND,
    StartPlace.SUPPLY_CONTACT: StartCause.SUPPLY_CONTACT,
    StartPlace.SENSE_LINE: StartCause.SENSE_LINE, StartPlace.RAIL_SHORT: StartCause.RAIL_SHORT,
}  # fmt: skip
_ALONE = {
    StartPlace.SUPPLY_UNIT: StartCause.SUPPLY_UNIT, StartPlace.POWER_PATH: StartCause.POWER_PATH,
    StartPlace.JOINT: StartCause.JOINT, StartPlace.SEATING: StartCause.SEATING,
    StartPlace.ELSE: StartCause.SOMETHING_ELSE,
}  # fmt: skip


def causes_of_no_start(
    evidence: Evidence, damaged: Collection[str] = ()
) -> tuple[tuple[Cause, float], ...]:
    """Causes of a card that does not come up, most probable first; contacts most probable first.

    Empty for a card that came up.
    """
    if not evidence.absent:
        return ()
    candidates = explain_start(look_at_start(evidence, damaged))
    by_place: dict[StartPlace, list[StartSuspect]] = {}
    for suspect in (s for candidate in candidates for s in candidate.suspects):
        if suspect.place is not StartPlace.NOTHING:
            by_place.setdefault(suspect.place, []).append(suspect)
    found = [
        (_cause(place, part), sum(s.probability for s in part)) for place, part in by_place.items()
    ]
    told = [(cause, probability) for cause, probability in found if probability >= _TOLD_FROM]
    return tuple(sorted(told, key=lambda pair: -pair[1]))


def _cause(place: StartPlace, suspects: list[StartSuspect]) -> Cause:
    if place in _ALONE:
        return _ALONE[place]()
    ranked = sorted(suspects, key=lambda suspect: -suspect.probability)
    points = tuple(dict.fromkeys(point for suspect in ranked for point in suspect.points))
    if place is StartPlace.SENSE_LINE and not points:
        return StartCause.ANY_SENSE_LINE()  # nobody named the plug
    return _AT_CONTACTS[place](contacts=points)
