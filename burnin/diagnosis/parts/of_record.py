"""What failed beside the link, part by part: its causes with their probabilities and its rules."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from burnin.core.meaning import Cause, Term
from burnin.core.reading import Verdict
from burnin.core.verdict import StageVerdict
from burnin.diagnosis.heat.explain_heat import HeatCause
from burnin.diagnosis.meanings import DiagnosisTerm, HeatFault, SupplyFault
from burnin.diagnosis.power.faults import PowerCause
from burnin.diagnosis.power.of_record import NOTHING_SAID, TicketSays
from burnin.diagnosis.record_evidence import left_the_bus
from burnin.record.reader import Record

OWN_POWER = "own_power_share"
"""The reading of a ramp: power under full work as a share of the card's own limit."""
RAMP, MEMORY, COMPUTE, ALL_AT_ONCE = "thermal_ramp", "memory", "compute", "all_at_once"
UNDER_LOAD = "under_load"
"""Kinds of stage that tell of a part."""

_HEAT = {
    HeatCause.SOUND: HeatFault.SOUND,
    HeatCause.MOUNT: HeatFault.MOUNT,
    HeatCause.PASTE: HeatFault.PASTE,
    HeatCause.FINS: HeatFault.FINS,
    HeatCause.FLOW: HeatFault.FLOW,
    HeatCause.FAN: HeatFault.FAN,
    HeatCause.ROOM: HeatFault.ROOM,
    HeatCause.DRY: HeatFault.DRY,
    HeatCause.SENSOR: HeatFault.SENSOR,
    HeatCause.ELSE: HeatFault.SOMETHING_ELSE,
}


class PartKind(StrEnum):
    """A part of the card that an explanation is made of."""

    MEMORY = "memory"
    HEAT = "heat"
    COMPUTE = "compute"
    POWER = "power"
    IDENTITY = "identity"
    MOMENTS = "link for moments"

    @property
    def term(self) -> Term:
        """Its name."""
        names = {
            PartKind.MEMORY: DiagnosisTerm.PART_MEMORY, PartKind.HEAT: DiagnosisTerm.PART_HEAT,
            PartKind.COMPUTE: DiagnosisTerm.PART_COMPUTE,
            PartKind.POWER: DiagnosisTerm.PART_POWER,
            PartKind.IDENTITY: DiagnosisTerm.PART_IDENTITY,
            PartKind.MOMENTS: DiagnosisTerm.PART_MOMENTS,
        }  # fmt: skip
        return names[self]()


@dataclass(frozen=True)
class Part:
    """One part: the stages it speaks for, causes with probabilities, the rule on addresses."""

    kind: PartKind
    stages: tuple[str, ...]
    causes: tuple[tuple[Cause, float], ...]
    rule: tuple[Term, ...] = ()


def heat_cause(cause: HeatCause) -> Cause:
    """What is wrong with a cooling, as a meaning."""
    return _HEAT[cause]()


def parts_of(record: Record, says: TicketSays = NOTHING_SAID) -> tuple[Part, ...]:
    """The parts of a record of which something is to be explained, `says` by its ticket."""
    return tuple(_parts(record, says))


def _parts(record: Record, says: TicketSays) -> Iterator[Part]:
    if not left_the_bus([record.run.reason]):
        yield from _moments(record)
    yield from _identity(record)
    if record.listed_words:
        yield from _memory(record)
    if _failed(record, RAMP):
        yield from _heat(record)
    if _lacks_power(record):
        yield from _power(record, says)
    if _failed(record, UNDER_LOAD):
        yield from _under_load(record)
    if _failed(record, COMPUTE) or _failed(record, ALL_AT_ONCE):
        yield from _compute(record)


def _memory(record: Record) -> Iterator[Part]:
    from burnin.diagnosis.memory_fault.of_record import explain_record
    from burnin.diagnosis.memory_fault.told_causes import causes_of, rule_terms

    answer = explain_record(record)
    if answer is not None:
        stages = _stages(record, MEMORY)
        yield Part(PartKind.MEMORY, stages, causes_of(answer), rule_terms(answer.rule))


def _heat(record: Record) -> Iterator[Part]:
    from burnin.diagnosis.heat.explain_heat import explain_heat, told
    from burnin.diagnosis.heat.of_record import look_at_heat

    look = look_at_heat(record)
    suspects = () if look is None else told(explain_heat(look))
    if suspects:
        causes = tuple((heat_cause(s.cause), s.probability) for s in suspects)
        yield Part(PartKind.HEAT, _stages(record, RAMP), causes)


def _compute(record: Record) -> Iterator[Part]:
    from burnin.diagnosis.parts.arithmetic import explain_compute

    causes = explain_compute(record)
    if causes:
        stages = (*_stages(record, COMPUTE), *_stages(record, ALL_AT_ONCE))
        yield Part(PartKind.COMPUTE, stages, causes)


def _identity(record: Record) -> Iterator[Part]:
    from burnin.diagnosis.parts.identity import ENUMERATION, explain_identity

    causes = explain_identity(record)
    if causes:
        yield Part(PartKind.IDENTITY, _stages(record, ENUMERATION), causes)


def _lacks_power(record: Record) -> bool:
    """Whether a ramp took less power than the card's own limit, or nobody could tell."""
    doubtful = (Verdict.FAIL, Verdict.UNSURE, Verdict.NOT_MEASURED)
    return any(r.name == OWN_POWER and r.verdict in doubtful for r in record.readings)


def _power(record: Record, says: TicketSays) -> Iterator[Part]:
    from burnin.diagnosis.power.explain_power import explain_power, told
    from burnin.diagnosis.power.of_record import look_at_power

    look = look_at_power(record, says)
    suspects = () if look is None else told(explain_power(look))
    if suspects:
        causes = tuple((_supply(s.cause, s.contacts), s.probability) for s in suspects)
        yield Part(PartKind.POWER, _stages(record, RAMP), causes)


def _supply(cause: PowerCause, contacts: tuple[str, ...]) -> Cause:
    if cause is PowerCause.CONTACT:
        at = SupplyFault.CONTACT(contacts=contacts)
        return at if contacts else SupplyFault.ANY_CONTACT()
    if cause is PowerCause.SENSE:
        return SupplyFault.SENSE(contacts=contacts) if contacts else SupplyFault.ANY_SENSE()
    return {
        PowerCause.UNIT: SupplyFault.UNIT, PowerCause.LIMIT: SupplyFault.LIMIT,
        PowerCause.ELSE: SupplyFault.SOMETHING_ELSE, PowerCause.SOUND: SupplyFault.NOTHING,
    }[cause]()  # fmt: skip


def _under_load(record: Record) -> Iterator[Part]:
    from burnin.diagnosis.parts.by_hand_under_load import explain_under_load

    causes = explain_under_load(record)
    if causes:
        yield Part(PartKind.POWER, _stages(record, UNDER_LOAD), causes)


def _moments(record: Record) -> Iterator[Part]:
    from burnin.diagnosis.parts.moments import explain_moments, stages_with_moments

    stages = stages_with_moments(record)
    if stages:
        yield Part(PartKind.MOMENTS, stages, explain_moments(record))


def _failed(record: Record, kind: str) -> bool:
    """Whether a stage of that kind failed or was ended: what passed needs no cause."""
    bad = (StageVerdict.FAIL, StageVerdict.ABORTED)
    return any(stage.kind == kind and stage.verdict in bad for stage in record.run.stages)


def _stages(record: Record, kind: str) -> tuple[str, ...]:
    return tuple(stage.stage for stage in record.run.stages if stage.kind == kind)
