"""Prints cases, one JSON a line: ``python -m tests.others.explained.draw --seed 1000 --count 5``.

Case number k of a seed and class is always the same, however many are drawn. Seeds 1000 to 1999 are
there to tune on; seeds from 5000 on are held out until the end.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Iterator

import numpy as np

from tests.others.explained.cases import CLASSES, Case
from tests.others.explained.heat_cases import draw_heat_case
from tests.others.explained.link_cases import draw_link_case
from tests.others.explained.memory_cases import draw_memory_case
from tests.others.explained.output_cases import draw_output_case
from tests.others.explained.power_cases import draw_power_case
from tests.others.explained.rail_cases import draw_rail_case

DRAWS: dict[str, Callable[[np.random.Generator], Case]] = {
    "link": draw_link_case,
    "rail": draw_rail_case,
    "output": draw_output_case,
    "memory": draw_memory_case,
    "heat": draw_heat_case,
    "power": draw_power_case,
}


def case(class_: str, seed: int, number: int) -> Case:
    """Case `number` of a class and seed."""
    return DRAWS[class_](np.random.default_rng([seed, CLASSES.index(class_), number]))


def cases(class_: str, seed: int, count: int) -> Iterator[Case]:
    """The first `count` cases of a class and seed."""
    return (case(class_, seed, number) for number in range(count))


def main() -> None:
    """Prints what was asked for."""
    parser = argparse.ArgumentParser(description="Cases of what a bench sees, with the truth.")
    parser.add_argument("--seed", type=int, default=1000)
    parser.add_argument("--count", type=int, default=10)
    parser.add_argument("--class", dest="class_", choices=CLASSES, default="link")
    asked = parser.parse_args()
    for one in cases(asked.class_, asked.seed, asked.count):
        sys.stdout.write(json.dumps(one.to_dict()) + "\n")


if __name__ == "__main__":
    main()
