"""What a difference likely means, by the causes that the diagnosis already knows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from burnin.core.meaning import Cause
from burnin.core.verdict import RunVerdict
from burnin.diagnosis.claims import Alternatives
from burnin.diagnosis.explain import TOLD_FROM, explain_record
from burnin.diagnosis.explanation import Answer
from burnin.diagnosis.heat.explain_heat import Estimate, HeatCause, explain_heat, told
from burnin.diagnosis.heat.of_record import look_at_heat
from burnin.diagnosis.parts.of_record import heat_cause, parts_of
from burnin.record.reader import Record
from burnin.ticket.comparison.rows import RAMP, Row

LINK = "link"
_MOST = 2
_DIE, _HOTSPOT_OVER_DIE, _RISE = "gpu_temp_max_c", "hotspot_delta_max_k", "gpu_rise_k"
_RESISTANCES = ("die_to_block", "block_to_room", "die_to_hotspot")


@dataclass(frozen=True)
class Likely:
    """Alternatives that together are as probable as this; None: no model weighed them."""

    claim: Alternatives
    probability: float | None


def likely_of(record: Record, kind: str, rows: Sequence[Row]) -> Likely | None:
    """What explains that a stage of this kind differs; None where nothing is likelier than not."""
    if kind == RAMP:
        return _heat(record, rows)
    if record.run.verdict is RunVerdict.PASS:
        return None
    if kind == LINK:
        found = explain_record(record.folder)
        if found.answer is Answer.EXPLAINED and found.because is None and found.ranked:
            return Likely(found.ranked[0].claim, found.ranked[0].probability)
        return None
    causes = [
        cause
        for part in parts_of(record)
        if any(stage.partition("-")[2] == kind for stage in part.stages)
        for cause in part.causes
    ]
    return _together(causes)


def _heat(record: Record, rows: Sequence[Row]) -> Likely | None:
    """By the resistances of the record beside those of the others."""
    look = look_at_heat(record)
    by_name = {row.reading: row for row in rows}
    if look is None:
        return _by_pattern(by_name)
    known_good = _known_good(by_name)
    suspects = told(explain_heat(replace(look, known_good=known_good)))
    found = _together([(heat_cause(one.cause), one.probability) for one in suspects])
    return found or _by_pattern(by_name)


def _by_pattern(rows: Mapping[str, Row]) -> Likely | None:
    """What temperatures alone point to, where a ramp was too short to tell resistances.

    A hot spot that is farther over a die no warmer: paste. A die that is warmer and has risen no
    more: the room (common practice, no source).
    """
    die, spot, rise = (rows.get(name) for name in (_DIE, _HOTSPOT_OVER_DIE, _RISE))
    if spot is not None and _higher(spot) and not (die is not None and _higher(die)):
        return Likely(((heat_cause(HeatCause.PASTE),),), None)
    risen_more = rise is None or (rise.differs and (rise.difference or 0.0) > 0.0)
    if die is not None and _higher(die) and not risen_more:
        return Likely(((heat_cause(HeatCause.ROOM),),), None)
    return None


def _higher(row: Row) -> bool:
    """Whether a value is higher than usual; beside too few records, than its uncertainty."""
    outside = row.far if row.spread is not None else row.differs
    return outside and row.weighed and row.difference is not None and row.difference > 0.0


def _known_good(rows: Mapping[str, Row]) -> dict[str, Estimate]:
    found = {}
    for name in _RESISTANCES:
        row = rows.get(f"{name}_k_per_w")
        if row is not None and isinstance(row.other.value, float) and row.weighed:
            spread = max(row.spread or 0.0, row.other.uncertainty / 2.0)
            found[name] = Estimate(row.other.value, spread)
    return found


def _together(causes: Sequence[tuple[Cause, float]]) -> Likely | None:
    """The likeliest, with the next one where it alone is not likelier than not."""
    ranked = sorted(causes, key=lambda one: -one[1])
    for count in range(1, min(_MOST, len(ranked)) + 1):
        sure = sum(probability for _, probability in ranked[:count])
        if sure >= TOLD_FROM:
            return Likely(tuple((cause,) for cause, _ in ranked[:count]), sure)
    return None
