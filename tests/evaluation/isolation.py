"""Scores of the isolation on random scenarios: ``python -m tests.evaluation.isolation``.

A case is right where the most probable class holds what is true: the class, in the hazy record,
of the effects by which the true faults account best for the clear record. A case is *tellable*
where the clear record differs from that of the same bench and seed without the faults: a fault
that leaves no trace at all cannot be told. The expected calibration error compares the most
probable class's probability with how often it is right, in ten bins of equal width, weighted by
their cases (Naeini, Cooper, Hauskrecht, AAAI 2015).
"""

from __future__ import annotations

import argparse
import json
import math
from collections.abc import Iterator
from dataclasses import dataclass
from random import Random

from burnin.diagnosis.posterior import Posterior
from burnin.sim.scenario.model import Scenario
from tests.evaluation.link_scenarios import Case, draw_case
from tests.evaluation.observing import Haze, hazy, observe

MOST_RANKED = 5
BINS = 10


@dataclass(frozen=True)
class Scored:
    """One case: place of the truth among the classes (0 first, None: not among them)."""

    faults: int
    tellable: bool
    place: int | None
    probability: float
    says_nothing: bool
    case: Case
    named: bool = False
    """Whether the most probable fault of the first class concerns a true fault's contacts."""


def score(case: Case, seed: int, chance: Random) -> Scored:
    """Simulate, read, explain and compare one case."""
    clear = observe(case.scenario, seed)
    tellable = bool(case.truth) and clear != observe(_without(case.scenario), seed)
    haze = Haze(
        lane_registers=chance.random() < 0.6,
        counters=chance.random() < 0.85,
        port=chance.random() < 0.95,
        misread=chance,
    )
    seen = hazy(clear, haze)
    place = Posterior(clear).account_of(case.truth)
    posterior = Posterior(seen, case.ticket)
    ranked = posterior.candidates(MOST_RANKED)
    right = posterior.class_at(place)
    numbers = [candidate.number for candidate in ranked]
    return Scored(
        len(case.truth),
        tellable,
        numbers.index(right) if right in numbers else None,
        ranked[0].probability,
        numbers[0] == posterior.nothing_class,
        case,
        _named(posterior, numbers[0], case.truth),
    )


def _named(posterior: Posterior, number: int, truth: tuple[str, ...]) -> bool:
    first = posterior.members(number)[0].fault
    true_names = {name for fault in truth for name in fault.split("+")}
    return bool(first.contacts & true_names) or first.name in truth


def _without(scenario: Scenario) -> Scenario:
    """The same bench and card with nothing wrong; what the bench is like stays."""
    sound = {"port_width_lanes": None, "held_generation": None, "power_saving": "normal",
             "riser_loss_db": 0.0}
    bench = scenario.bench.model_copy(update=sound)
    if scenario.bench.port_width_lanes is not None:
        bench = bench.model_copy(update={"slot_width_lanes": 16})
    return scenario.model_copy(update={"causes": (), "bench": bench})


def scored(scenarios: int, seed: int) -> Iterator[Scored]:
    """Every case of a seed, one after the other."""
    for number in range(scenarios):
        chance = Random(f"{seed}/{number}")
        yield score(draw_case(chance), number, chance)


def calibration_error(cases: list[Scored]) -> float:
    """Expected calibration error of the first class's probability."""
    bins: list[list[Scored]] = [[] for _ in range(BINS)]
    for case in cases:
        bins[min(BINS - 1, int(case.probability * BINS))].append(case)
    error = 0.0
    for inside in bins:
        if inside:
            said = sum(case.probability for case in inside) / len(inside)
            right = sum(case.place == 0 for case in inside) / len(inside)
            error += len(inside) / len(cases) * abs(said - right)
    return error


def summary(cases: list[Scored]) -> dict[str, float]:
    """All scores; shares lie between 0 and 1."""

    def share(part: list[Scored], most: int) -> float:
        hits = sum(case.place is not None and case.place < most for case in part)
        return hits / len(part) if part else math.nan

    healthy = [case for case in cases if case.faults == 0]
    tellable = [case for case in cases if case.tellable]
    listed = [c for c in tellable if c.faults == 1 and set(c.case.truth) & set(c.case.ticket)]
    silent = [case for case in cases if case.faults and not case.tellable]
    return {
        "scenarios": len(cases),
        "tellable": len(tellable),
        "top_1": share(tellable, 1),
        "top_3": share(tellable, 3),
        "top_1_one_fault": share([c for c in tellable if c.faults == 1], 1),
        "top_1_two_faults": share([c for c in tellable if c.faults == 2], 1),
        "contact_named_with_ticket": sum(c.named for c in listed) / max(1, len(listed)),
        "top_1_all": share(cases, 1),
        "top_3_all": share(cases, 3),
        "calibration_error": calibration_error(cases),
        "calibration_error_tellable": calibration_error(tellable) if tellable else math.nan,
        "healthy_called_healthy": sum(c.says_nothing for c in healthy) / max(1, len(healthy)),
        "silent_called_healthy": sum(c.says_nothing for c in silent) / max(1, len(silent)),
    }


def main() -> None:
    """Print the scores as JSON."""
    parser = argparse.ArgumentParser(description="Scores of the isolation on random scenarios")
    parser.add_argument("--scenarios", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--misses", action="store_true", help="name every tellable miss")
    asked = parser.parse_args()
    cases = list(scored(asked.scenarios, asked.seed))
    if asked.misses:
        for case in cases:
            if case.tellable and case.place != 0:
                print(case.place, f"{case.probability:.2f}", case.case.truth, case.case.ticket)
    print(json.dumps(summary(cases), indent=1))


if __name__ == "__main__":
    main()
