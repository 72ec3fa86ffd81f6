"""How memory faults that another hand drew are explained; run it as a module.

A rule is right where the parities told are those of the truth: the same span over GF(2), each
wanted bit as it follows from the truth's. It is asked for where the truth is made of parities
alone and the driver laid pages in order; a remainder is compared by its modulus.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter, defaultdict
from typing import Any

from burnin.diagnosis.memory_fault.answer import MemoryAnswer
from burnin.diagnosis.memory_fault.explain_words import explain_words
from burnin.diagnosis.memory_fault.failing_words import FailingWords
from tests.evaluation.score import wilson
from tests.others.explained.draw import cases

_CALLED = {"chip or channel": "chip", "something else": "something_else"}


def words_of(given: dict[str, Any]) -> FailingWords:
    """Drawn words as the tool reads them from a record."""
    import numpy as np

    rows = given["rows"]
    names = tuple(dict.fromkeys(row[3] for row in rows))
    return FailingWords(
        address_bytes=np.array([row[0] for row in rows], np.uint64),
        expected=np.array([row[1] for row in rows], np.uint32),
        got=np.array([row[2] for row in rows], np.uint32),
        pattern=np.array([names.index(row[3]) for row in rows], np.uint8),
        pattern_names=names,
        pass_number=np.array([row[4] for row in rows], np.uint16),
        memory_c=np.array([np.nan if r[5] is None else r[5] for r in rows], np.float64),
        swept_bytes=given["swept_bytes"],
        failing_total=given["failing_total"],
        page_bytes=given["page_bytes"],
    )


def rule_right(answer: MemoryAnswer, truth: dict[str, Any]) -> bool | None:
    """Whether the rule told is the true one; None where it can't be known or compared."""
    rule = truth["rule"]
    if not rule or truth["pages_shuffled"]:
        return None
    if "modulus" in rule:
        told = answer.rule.remainder
        return told is not None and told.modulus % rule["modulus"] == 0
    want = _reduced(zip(rule["masks"], rule["parities"], strict=True))
    if answer.rule.remainder is not None:
        return False
    return want == _reduced((part.mask, part.wanted) for part in answer.rule.parities)


def _reduced(parts: Any) -> frozenset[tuple[int, int]]:
    """The reduced echelon form of parities, each mask with the bit wanted of it."""
    basis: list[tuple[int, int]] = []
    for mask, wanted in parts:
        for other, bit in basis:
            if mask ^ other < mask:
                mask, wanted = mask ^ other, wanted ^ bit
        if mask:
            top = 1 << (mask.bit_length() - 1)
            basis = [(m ^ mask, b ^ wanted) if m & top else (m, b) for m, b in basis]
            basis = sorted([*basis, (mask, wanted)], reverse=True)
    return frozenset(basis)


def main() -> int:
    """Print right classes and rules by sample and class, and the calibration error."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--seed", type=int, default=1000)
    asked.add_argument("--count", type=int, default=200)
    given = asked.parse_args()
    hits: dict[str, list[bool]] = defaultdict(list)
    rules: dict[str, list[bool]] = defaultdict(list)
    missed: Counter[tuple[str, str]] = Counter()
    said: list[tuple[float, bool]] = []
    for drawn in cases("memory", given.seed, given.count):
        case = drawn.to_dict()
        truth = case["truth"]
        answer = explain_words(words_of(case["seen"]["words"]))
        first = answer.chances[0]
        want = truth["memory_class"]
        want = _CALLED.get(want, want.replace(" ", "_"))
        hit = first.fault.value == want
        hits[truth["sample"]].append(hit)
        hits[f"  {truth['sample']}, {want}"].append(hit)
        said.append((first.probability, hit))
        if not hit:
            missed[want, first.fault.value] += 1
        right = rule_right(answer, truth)
        if right is not None:
            rules[truth["sample"]].append(right)
    for title, found in (("class", hits), ("rule", rules)):
        for name, part in sorted(found.items()):
            low, high = wilson(sum(part), len(part))
            count = f"{sum(part)}/{len(part)} = {sum(part) / len(part):.3f}"
            print(f"{title} {name:<28} {count} ({low:.3f}-{high:.3f})")
    bins: dict[int, list[tuple[float, bool]]] = defaultdict(list)
    for probability, hit in said:
        bins[min(9, int(10 * probability))].append((probability, hit))
    error = sum(abs(sum(p - h for p, h in part)) for part in bins.values()) / len(said)
    print(f"calibration error {error:.3f}")
    print("missed most:", ", ".join(f"{a} as {b} {n}" for (a, b), n in missed.most_common(8)))
    return 0


if __name__ == "__main__":
    sys.exit(main())
