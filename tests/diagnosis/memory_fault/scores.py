"""How often drawn cases are explained rightly, and how sure the answers were."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from burnin.diagnosis.memory_fault.answer import FaultClass
from burnin.diagnosis.memory_fault.explain_words import explain_words
from tests.diagnosis.memory_fault.drawn_cases import ALL, drawn_case


@dataclass(frozen=True)
class Scores:
    """Shares that were right, and by class (right, all) of class and of rule.

    `calibration_error`: over ten bins of the first answer's probability, the weighted mean of what
    was said less what was right.
    """

    classes_right: float
    rules_right: float
    calibration_error: float
    by_class: dict[FaultClass, tuple[int, int]]
    rules_by_class: dict[FaultClass, tuple[int, int]]


def scored(seeds: Iterable[int], count: int, strays: float) -> Scores:
    """Scores of cases of every class in turn."""
    classes: Counter[tuple[FaultClass, bool]] = Counter()
    rules: Counter[tuple[FaultClass, bool]] = Counter()
    said: list[tuple[float, bool]] = []
    for seed in seeds:
        fault = ALL[seed % len(ALL)]
        case = drawn_case(seed, count, strays, fault)
        answer = explain_words(case.words)
        right = answer.first.fault is fault
        classes[fault, right] += 1
        said.append((answer.first.probability, right))
        rule = case.rule_is_right(answer)
        if rule is not None:
            rules[fault, rule] += 1
    return Scores(
        _share(classes),
        _share(rules),
        calibration_error(said),
        {f: (classes[f, True], classes[f, True] + classes[f, False]) for f in ALL},
        {f: (rules[f, True], rules[f, True] + rules[f, False]) for f in ALL},
    )


def calibration_error(said: list[tuple[float, bool]]) -> float:
    values = np.array(said, float)
    number = np.minimum(9, (values[:, 0] * 10).astype(int))
    return float(
        sum(
            abs(float(np.mean(values[of, 0])) - float(np.mean(values[of, 1]))) * float(np.mean(of))
            for of in (number == n for n in range(10))
            if of.any()
        )
    )


def _share(counts: Counter[tuple[FaultClass, bool]]) -> float:
    right = sum(count for (_, good), count in counts.items() if good)
    return right / max(1, counts.total())
