"""How often the party at fault is named first: `python -m tests.others.parties.score`.

`--set whose_fault` carries out the cases of that folder beside this one.
Beside it, what one fixed order of the parties gets on the same cases: the best of all orders, found
exactly, with three sets of candidates: all parties; those that the symptom admits (the parties of
the cases that share it); those that the run names (a verdict of fail leaves the card alone).
"""

import argparse
import math
from collections import Counter
from collections.abc import Callable, Sequence

from tests.others.parties.carry import HERE, PARTIES, Case, Found, cases, look, right

Candidates = Sequence[tuple[str, tuple[str, ...]]]   # a case's party, and who comes into question


def best_fixed_order(asked: Candidates) -> tuple[int, tuple[str, ...]]:
    """Most cases that one order gets right, and that order.

    A case is right where its party is placed before all its other candidates; so the count of an
    order is a sum over its places, and the best order of each set of parties follows from those of
    its subsets.
    """
    full = (1 << len(PARTIES)) - 1
    masks = [(PARTIES.index(party), _mask(among)) for party, among in asked]
    best: list[tuple[int, tuple[str, ...]]] = [(-1, ())] * (full + 1)
    best[0] = (0, ())
    for placed in range(full + 1):
        gain = Counter(party for party, among in masks
                       if among >> party & 1 and not among & placed)
        count, order = best[placed]
        for index, name in enumerate(PARTIES):
            after = placed | 1 << index
            if after != placed and count + gain[index] > best[after][0]:
                best[after] = (count + gain[index], (*order, name))
    return best[full]


def _mask(parties: Sequence[str]) -> int:
    return sum(1 << PARTIES.index(party) for party in set(parties))


def clopper_pearson(hits: int, of: int, level: float = 0.95) -> tuple[float, float]:
    """Exact interval of a share."""
    tail = (1.0 - level) / 2.0
    lower = 0.0 if hits == 0 else _where(lambda p: 1.0 - _at_most(hits - 1, of, p) >= tail)
    upper = 1.0 if hits == of else _where(lambda p: _at_most(hits, of, p) <= tail)
    return lower, upper


def _at_most(hits: int, of: int, p: float) -> float:
    return sum(math.comb(of, k) * p ** k * (1.0 - p) ** (of - k) for k in range(hits + 1))


def _where(holds: Callable[[float], bool]) -> float:
    """The share from which on something holds."""
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = (low + high) / 2.0
        low, high = (low, middle) if holds(middle) else (middle, high)
    return high


def among_all(of: Sequence[Case]) -> list[tuple[str, tuple[str, ...]]]:
    """All parties come into question."""
    return [(case.party, PARTIES) for case in of]


def by_symptom(of: Sequence[Case]) -> list[tuple[str, tuple[str, ...]]]:
    """Those come into question that are at fault in some case of the same symptom."""
    admits: dict[str, set[str]] = {}
    for case in of:
        admits.setdefault(case.symptom, set()).add(case.party)
    return [(case.party, tuple(sorted(admits[case.symptom]))) for case in of]


def by_run(of: Sequence[tuple[Case, Found]]) -> list[tuple[str, tuple[str, ...]]]:
    """Those come into question that the run names; where it names nobody, all."""
    return [(case.party, found.named or PARTIES) for case, found in of]


def main() -> None:
    """Carry out all cases, or those named, and print the score."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--only", action="append", default=[], help="id of a case; repeatable")
    asked.add_argument("--set", default=HERE.name, help="the folder that the cases lie in")
    given = asked.parse_args()
    drawn = cases(HERE.parent / given.set)
    chosen = [case for case in drawn if not given.only or case.id in given.only]
    looked: list[tuple[Case, Found]] = []
    for case in chosen:
        found = look(case)
        looked.append((case, found))
        word = "right" if right(case, found.first) else f"WRONG, it was {case.party}"
        word += f"; named {', '.join(found.named) or 'nobody'}"
        broke = f"; BROKEN, {case.demand}: {'; '.join(found.faults)}" if found.faults else ""
        print(f"{case.symptom:18} {case.id:26} {found.told()}: {word}{broke}", flush=True)
    _print_score(looked)


def _print_score(looked: Sequence[tuple[Case, Found]]) -> None:
    of = len(looked)
    hits = sum(right(case, found.first) for case, found in looked)
    low, high = clopper_pearson(hits, of)
    strict = sum(case.party == found.first for case, found in looked)
    print(f"\nthe party at fault is first in {hits} of {of}: {hits / of:.3f} "
          f"(95 %: {low:.3f} to {high:.3f}); {hits - strict} of them by another word that is right")
    for symptom in dict.fromkeys(case.symptom for case, _ in looked):
        there = [right(case, found.first) for case, found in looked if case.symptom == symptom]
        print(f"  {symptom:18} {sum(there)} of {len(there)}")
    only = [case for case, _ in looked]
    for name, candidates in (("of all parties", among_all(only)),
                             ("of those that the symptom admits", by_symptom(only)),
                             ("of those that the run names", by_run(looked))):
        count, order = best_fixed_order(candidates)
        print(f"best fixed order, first {name}: {count} of {of}, {count / of:.3f}: "
              f"{', '.join(order)}")
    broken = [case.id for case, found in looked if found.faults]
    print(f"demands broken: {len(broken)}: {', '.join(broken) or 'none'}")


if __name__ == "__main__":
    main()
