"""A scenario: the bench, the card's build, and faults as causes; read from TOML.

A scenario names no outcome: what a cause does to link, heat, memory and outputs follows from the
machine. Ready-made scenarios lie in ``burnin/sim/scenarios`` and ``burnin/sim/cause_scenarios``;
the comments of ``healthy.toml`` explain every key.
"""

from __future__ import annotations

from functools import cache
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Annotated

from pydantic import Field, ValidationError, field_validator

from burnin.connector.contact_map import LAST_CONTACT, contacts, on_connector
from burnin.connector.other_connectors import connectors
from burnin.core.errors import ScenarioError
from burnin.core.files.bounded import TEXT_BYTES, read_at_most
from burnin.core.files.nearest import nearest
from burnin.core.meaning import Reason
from burnin.core.system import cannot_read_why
from burnin.sim.causes.kinds import (
    AnyCause,
    CapacitorCause,
    ContactCause,
    CoolantCause,
    FanCause,
    MemoryCellCause,
    MemoryChipCause,
    MemoryLineCause,
    OutputCause,
    PlugCause,
    SensorCause,
    SupplyJointCause,
)
from burnin.sim.causes.sensors import FANS
from burnin.sim.scenario.parts import BenchBuild, CardBuild, Part
from burnin.sim.scenario.refusals import ScenarioRefusal


class Scenario(Part):
    """One simulated machine: its bench, its card and what is wrong with it (`causes`)."""

    name: Annotated[str, Field(pattern=r"^[a-z0-9_]+$")]
    title: str
    description: str = ""
    bench: BenchBuild = BenchBuild()
    card: CardBuild
    causes: tuple[AnyCause, ...] = ()

    @field_validator("causes", mode="before")
    @classmethod
    def _as_tuple(cls, value: object) -> object:
        return tuple(value) if isinstance(value, list) else value


def _misfit(scenario: Scenario, cause: object) -> tuple[str, object, str] | None:
    """Key, value and rule where a cause names something that this card has not; else None."""
    card = scenario.card
    if isinstance(cause, ContactCause):
        reaches = [
            on_connector(contacts()[name], card.width_lanes)
            for name in (cause.contact, cause.neighbour)
            if name is not None
        ]
        if not all(reaches):
            last = LAST_CONTACT[card.width_lanes]
            rule = f"the edge of an x{card.width_lanes} card ends at contact {last}"
            return "contact", cause.contact, rule
    elif isinstance(cause, CapacitorCause):
        if cause.lane >= card.width_lanes:
            return "lane", cause.lane, f"the card has lanes 0 to {card.width_lanes - 1}"
    elif isinstance(cause, PlugCause | SupplyJointCause):
        return _plug_misfit(card, cause)
    elif isinstance(cause, OutputCause):
        names = ", ".join(output.name for output in card.outputs) or "none"
        if cause.output not in {output.name for output in card.outputs}:
            return "output", cause.output, f"the card's outputs are: {names}"
    elif isinstance(cause, MemoryCellCause | MemoryLineCause | MemoryChipCause):
        if cause.chip is not None and cause.chip >= card.memory.chips:
            return "chip", cause.chip, f"the card has chips 0 to {card.memory.chips - 1}"
        if isinstance(cause, MemoryCellCause):
            share = 1 if cause.chip is None else card.memory.chips
            size = card.memory.size_bytes // share
            if cause.address >= size:
                return "address", cause.address, f"the memory there ends at {size} bytes"
    elif isinstance(cause, CoolantCause) and card.cooling != "water_loop":
        return "kind", "coolant", f"cooling is {card.cooling}: only water_loop has coolant"
    elif isinstance(cause, FanCause) and card.cooling != "air":
        return "kind", "fan", f"cooling is {card.cooling}: only air has fans on the card"
    elif isinstance(cause, FanCause) and (cause.fan or 1) > card.fans:
        return "fan", cause.fan, f"the card has fans 1 to {card.fans}"
    elif isinstance(cause, SensorCause) and cause.sensor in FANS:
        if card.cooling != "air":
            return "sensor", cause.sensor, f"cooling is {card.cooling}: only air has fans"
        if FANS.index(cause.sensor) >= card.fans:
            return "sensor", cause.sensor, f"the card has fans 1 to {card.fans}"
    return None


def _plug_misfit(
    card: CardBuild, cause: PlugCause | SupplyJointCause
) -> tuple[str, object, str] | None:
    if cause.plug >= len(card.power_plugs):
        plugs = ", ".join(card.power_plugs) or "none"
        return "plug", cause.plug, f"the card's power plugs, from 0, are: {plugs}"
    if isinstance(cause, SupplyJointCause):
        return None
    key = card.power_plugs[cause.plug]
    labels = [contact.label for contact in connectors()[key].contacts]
    if cause.contact not in labels:
        return "contact", cause.contact, f"the contacts of a {key} plug are: {', '.join(labels)}"
    return None


def _field_path(loc: tuple[int | str, ...]) -> str:
    """A field's place as ``causes[0].contact``; the tag of a cause's kind is left out."""
    parts = list(loc)
    if len(parts) > 2 and parts[0] == "causes":
        del parts[2]
    text = ""
    for part in parts:
        text += f"[{part}]" if isinstance(part, int) else f".{part}" if text else part
    return text or "(whole file)"


def faults_told(error: ValidationError, source: str) -> Reason:
    """What a file breaks, one after the other: file, path of the field, value, what is allowed."""
    told: list[Reason] = []
    for fault in error.errors():
        words, field = fault["msg"].removeprefix("Value error, "), _field_path(fault["loc"])
        if fault["type"] == "missing":
            told.append(ScenarioRefusal.FIELD_MISSING(file=source, field=field))
        elif isinstance(fault["input"], dict):
            told.append(ScenarioRefusal.FIELD_TABLE(file=source, field=field, words=words))
        else:
            given = repr(fault["input"])
            told.append(ScenarioRefusal.FIELD(file=source, field=field, given=given, words=words))
    return ScenarioRefusal.FAULTS(faults=tuple(told))


def scenario_from(content: dict[str, object], source: str) -> Scenario:
    """A scenario from parsed TOML; `source` is named in the errors.

    Raises ScenarioError with one line a fault: file, path of the field, value, what is allowed.
    """
    try:
        scenario = Scenario.model_validate(content)
    except ValidationError as error:
        raise ScenarioError(faults_told(error, source)) from None
    misfits: list[Reason] = []
    for index, cause in enumerate(scenario.causes):
        found = _misfit(scenario, cause)
        if found is not None:
            key, value, rule = found
            field = f"causes[{index}].{key}"
            misfits.append(
                ScenarioRefusal.FIELD(file=source, field=field, given=repr(value), words=rule)
            )
    if misfits:
        raise ScenarioError(ScenarioRefusal.FAULTS(faults=tuple(misfits)))
    return scenario


@cache
def scenario_names() -> tuple[str, ...]:
    """Names of the ready-made scenarios that the main job is tried on, sorted."""
    return _names_in(_folder("scenarios"))


@cache
def cause_scenario_names() -> tuple[str, ...]:
    """Names of the further ready-made scenarios, one for a cause each, sorted."""
    return _names_in(_folder("cause_scenarios"))


def _folder(name: str) -> Traversable:
    return resources.files("burnin.sim") / name


def _names_in(folder: Traversable) -> tuple[str, ...]:
    names = (entry.name for entry in folder.iterdir())
    return tuple(sorted(name[: -len(".toml")] for name in names if name.endswith(".toml")))


def load_scenario(name_or_path: str) -> Scenario:
    """A ready-made scenario by name, or any scenario by the path of its TOML file.

    Raises ScenarioError where there is none, or where it is not valid.
    """
    import tomllib

    source = f"{name_or_path}.toml"
    if name_or_path in scenario_names():
        data = (_folder("scenarios") / source).read_bytes()
    elif name_or_path in cause_scenario_names():
        data = (_folder("cause_scenarios") / source).read_bytes()
    else:
        source = name_or_path
        try:
            data = read_at_most(Path(name_or_path), TEXT_BYTES)
        except (OSError, ValueError) as error:
            known = scenario_names() + cause_scenario_names()
            near = nearest(name_or_path, known)
            why = cannot_read_why(error)
            told_near = (
                ScenarioRefusal.NO_SUCH_NEAR(name=name_or_path, why=why, near=near, there=known)
                if near
                else ScenarioRefusal.NO_SUCH(name=name_or_path, why=why, there=known)
            )
            raise ScenarioError(told_near) from None
    try:
        content = tomllib.loads(data.decode("utf-8"))
    except (ValueError, RecursionError) as error:
        raise ScenarioError(ScenarioRefusal.NO_TOML(file=source, words=str(error))) from None
    return scenario_from(content, source)
