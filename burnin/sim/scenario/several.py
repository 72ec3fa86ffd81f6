"""A simulated bench with several cards: each slot holds the card of a scenario of its own.

Read from TOML as a scenario is; the ready-made ones lie in ``burnin/sim/benches``.
"""

from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Annotated

from pydantic import Field, ValidationError, field_validator

from burnin.core.errors import ScenarioError
from burnin.core.files.bounded import TEXT_BYTES, read_at_most
from burnin.sim.causes.kinds import AnyCause
from burnin.sim.scenario.model import Scenario, faults_told, load_scenario
from burnin.sim.scenario.parts import Part

_ENDING = ".toml"
MOST_SLOTS = 24
"""Device numbers of a root bus end at 31; the last ones are the bridges'."""


class CardInSlot(Part):
    """The card in one slot: that of a scenario, with what else is wrong with it.

    `count` slots in a row hold such a card. `bridge`: cards with the same number sit behind one
    bridge, whose link to the processor they share.
    """

    scenario: str
    causes: tuple[AnyCause, ...] = ()
    count: Annotated[int, Field(ge=1, le=MOST_SLOTS)] = 1
    bridge: Annotated[int, Field(ge=1, le=7)] | None = None

    @field_validator("causes", mode="before")
    @classmethod
    def _as_tuple(cls, value: object) -> object:
        return tuple(value) if isinstance(value, list) else value


class BenchOfSeveral(Part):
    """A bench with a card in each of several slots, in bus order."""

    name: Annotated[str, Field(pattern=r"^[a-z0-9_]+$")]
    title: str
    description: str = ""
    cards: Annotated[tuple[CardInSlot, ...], Field(min_length=1)]

    @field_validator("cards", mode="before")
    @classmethod
    def _as_tuple(cls, value: object) -> object:
        return tuple(value) if isinstance(value, list) else value


def cards_of(bench: BenchOfSeveral) -> list[tuple[int, Scenario]]:
    """The card of every slot, with its bridge (0: none); no two have the same serial number.

    Raises ScenarioError for a scenario that is none, or for more cards than there are slots.
    """
    found: list[tuple[int, Scenario]] = []
    for slot in bench.cards:
        for _ in range(slot.count):
            found.append((slot.bridge or 0, _built(slot, len(found))))
    if len(found) > MOST_SLOTS:
        raise ScenarioError(f"{bench.name}: {len(found)} cards: there are {MOST_SLOTS} slots")
    return found


def _built(slot: CardInSlot, number: int) -> Scenario:
    scenario = load_scenario(slot.scenario)
    serial = int(scenario.card.serial.replace("-", ""), 16) + number & (1 << 64) - 1
    card = scenario.card.model_copy(update={"serial": f"{serial:x}"})
    bench = scenario.bench
    if slot.bridge is not None:
        way = {"uplink_width_lanes": bench.slot_width_lanes,
               "uplink_generation": bench.slot_generation}  # fmt: skip
        bench = bench.model_copy(update=way)
    causes = (*scenario.causes, *slot.causes)
    return scenario.model_copy(update={"card": card, "bench": bench, "causes": causes})


@cache
def bench_names() -> tuple[str, ...]:
    """Names of the ready-made benches with several cards, sorted."""
    folder = resources.files("burnin.sim") / "benches"
    names = (entry.name for entry in folder.iterdir())
    return tuple(sorted(n.removesuffix(_ENDING) for n in names if n.endswith(_ENDING)))


def bench_named(name_or_path: str) -> BenchOfSeveral | None:
    """A bench of several cards by its name or file; None where that is something else.

    Raises ScenarioError for one that is not valid.
    """
    if name_or_path in bench_names():
        file = resources.files("burnin.sim") / "benches" / f"{name_or_path}{_ENDING}"
        data = file.read_bytes()
    elif name_or_path.endswith(_ENDING):
        try:
            data = read_at_most(Path(name_or_path), TEXT_BYTES)
        except (OSError, ValueError):
            return None  # whoever loads a scenario says what is wrong with the file
    else:
        return None
    try:
        content = tomllib.loads(data.decode("utf-8"))
    except (ValueError, RecursionError):
        return None
    if "cards" not in content:
        return None
    try:
        return BenchOfSeveral.model_validate(content)
    except ValidationError as error:
        raise ScenarioError(faults_told(error, name_or_path)) from None
