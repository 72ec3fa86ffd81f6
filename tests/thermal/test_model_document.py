"""MODEL.md says what the code has."""

from __future__ import annotations

import importlib
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import burnin.thermal
from burnin.thermal import heat_network, priors
from burnin.thermal.states import CooledBy, Cooling

TEXT = (Path(burnin.thermal.__file__).parent / "MODEL.md").read_text(encoding="utf-8")


def rows(head: str) -> Iterator[list[str]]:
    """Cells of the rows of every table that begins with this head."""
    for table in re.split(r"\n\n", TEXT):
        lines = table.splitlines()
        if lines and lines[0].startswith(head):
            for line in lines[2:]:
                yield [cell.strip() for cell in line.strip("|").split("|")]


CONSTANTS = list(rows("| constant | value |"))
SPREADS = list(rows("| spread | median |"))


@pytest.mark.parametrize("cells", CONSTANTS, ids=lambda cells: cells[0])
def test_a_constant_is_as_the_code_has_it(cells: list[str]) -> None:
    module, name = cells[0].rsplit(".", 1)
    assert getattr(importlib.import_module(f"burnin.thermal.{module}"), name) == float(cells[1])
    assert len(cells[3]) > 5, "no source"


@pytest.mark.parametrize("cells", SPREADS, ids=lambda cells: cells[0])
def test_a_spread_is_as_the_code_has_it(cells: list[str]) -> None:
    spread = getattr(priors, cells[0])
    assert (spread.median, spread.log_sd) == (float(cells[1]), float(cells[2]))


def test_every_spread_and_place_of_the_state_is_told() -> None:
    named = {cells[0] for cells in SPREADS}
    there = {n for n, v in vars(priors).items() if isinstance(v, priors.Spread)}
    assert named == there
    places = [cells[0] for cells in rows("| place | meaning |")]
    assert len(places) == heat_network.SIZE
    assert {getattr(heat_network, place) for place in places} == set(range(heat_network.SIZE))
    assert len(CONSTANTS) > 30


@pytest.mark.parametrize(
    ("column", "kind"), [(1, CooledBy.FANS), (2, CooledBy.WATER), (3, CooledBy.STREAM)]
)
def test_weights_of_the_hypotheses_are_told(column: int, kind: CooledBy) -> None:
    told = {
        {"healthy": "healthy", "fan lost, no stream": "fan lost"}.get(cells[0], cells[0]):
            float(cells[column])
        for cells in rows("| state | fans |")
        if cells[column]
    }  # fmt: skip
    found: dict[str, float] = {}
    for h in priors.hypotheses(None, kind):
        healthy = h.state in (Cooling.HEALTHY_AIR, Cooling.HEALTHY_LOOP)
        name = "healthy" if healthy else str(h.state)
        found[name] = found.get(name, 0.0) + h.weight
    assert found == pytest.approx(told)


def test_every_file_that_is_named_is_there() -> None:
    named = set(re.findall(r"`(\w+\.py)`", TEXT))
    folder = Path(burnin.thermal.__file__).parent
    assert len(named) > 10
    assert {name for name in named if not (folder / name).exists()} == set()
