"""What is read of a card, tried through the readers that a run has."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import fields

from burnin.card.capabilities import Card, LinkEnd
from burnin.card.pci.config_space import ConfigurationSpace
from burnin.card.pci.reasons import ConfigReason
from burnin.card.pci.registers import EXTENDED_BYTES, HEADER_BYTES
from burnin.core.reading import NotMeasured
from burnin.run.rights import things
from burnin.run.rights.meanings import RightSeen
from burnin.run.rights.things import Thing
from burnin.run.rights.trial import State, Trial, of_answers

_OF_NVML = "nvml"
"""The name under which the source is registered (pyproject.toml)."""


def trials_of_card(card: Card) -> Iterator[Trial]:
    """Each thing that is read of a card; nothing is written, no setting is touched."""
    identity = card.identity()
    at = identity.address
    who = [getattr(identity, f.name) for f in fields(identity) if f.name != "bars"]
    yield of_answers(things.IDENTITY, who, at)
    yield _configuration(things.CONFIG_OF_CARD, card.configuration_space_at("card"), at)
    yield _configuration(things.CONFIG_OF_PORT, card.configuration_space_at("port"), at)
    link = card.link()
    yield of_answers(things.LINK, (*_end(link.card), *_end(link.port)), at)
    position = card.position()
    yield of_answers(things.POSITION, [position], at)
    named = position if isinstance(position, NotMeasured) else position.slot_name
    yield of_answers(things.SLOT_NAME, [named], at)
    yield of_answers(things.LINK_ERRORS, [card.error_counters()], at)
    yield of_answers(things.MEMORY_ERRORS, [card.memory_errors()], at)
    yield of_answers(things.SENSORS, _values(card.telemetry()), at)
    own = (*_values(card.temperature_limits()), *_values(card.ratings()), card.fan_count())
    yield of_answers(things.OWN_LIMITS, own, at)
    yield of_answers(things.FREE_MEMORY, [card.free_memory_bytes()], at)
    yield _outputs(card, at)
    yield of_answers(things.PROCESS_USE, [card.process_use(os.getpid())], at)
    left_out = getattr(card, "left_out", {}).get(_OF_NVML)
    yield of_answers(things.NVML, [True if left_out is None else left_out], at)


def _configuration(
    thing: Thing, space: ConfigurationSpace | NotMeasured, address: str
) -> Trial:
    """By how many bytes are shown: 64 without the right, 256 where a bench reaches no more."""
    if isinstance(space, NotMeasured):
        return of_answers(thing, [space], address)
    there = len(space.data)
    seen = RightSeen.BYTES(readable_bytes=there, whole_bytes=EXTENDED_BYTES)
    beyond = space.field(there, 1) if there < EXTENDED_BYTES else 0
    kept = isinstance(beyond, NotMeasured) and beyond.reason.means(
        ConfigReason.CUT_WITHOUT_PRIVILEGE
    )
    if kept:
        return Trial(thing, State.PART if there >= HEADER_BYTES else State.NO, seen, address)
    return Trial(thing, State.YES, seen, address)


def _outputs(card: Card, address: str) -> Trial:
    outputs = card.outputs()
    if isinstance(outputs, NotMeasured):
        return of_answers(things.OUTPUTS, [outputs], address)
    each = [value for o in outputs for value in (o.status, o.edid)]
    return of_answers(things.OUTPUTS, each or [True], address)


def _end(end: LinkEnd | NotMeasured) -> tuple[object, ...]:
    if isinstance(end, NotMeasured):
        return (end,)
    return (end.speed_gts, end.width_lanes, end.max_speed_gts, end.max_width_lanes)


def _values(told: object) -> tuple[object, ...]:
    """Every value of a dataclass that a card answers with."""
    return tuple(getattr(told, f.name) for f in fields(told))  # type: ignore[arg-type]
