"""The posterior: how probable each effect is, and each fault, given what a record shows.

P(fault | record) ∝ P(fault) · Σ P(effects | fault) · P(record | effects), summed over effects and
over the kinds of bench. Two faults are independent of each other, or neighbours that one stroke
made (Bayes' rule; nothing here is a table of cases). Pairs of effects with the same prediction for
everything that was looked at form one class: no more of the same looking tells them apart. What no
model holds has a probability of its own (`something_else.py`).
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from burnin.diagnosis.benches import (
    UNSEEN,
    BenchKind,
    bench_kinds,
    bench_shown,
    chance_of_looks,
    codes_of,
    mirrored_places,
    predicted_in,
    presence_of,
    turned_round,
)
from burnin.diagnosis.candidates import Account, Candidate, Hypothesis, Member
from burnin.diagnosis.effects import SILENT, Effect
from burnin.diagnosis.evidence import Evidence
from burnin.diagnosis.faults import ELSEWHERE, Fault, faults
from burnin.diagnosis.likelihood import Feature, likelihoods, presence
from burnin.diagnosis.link_model import link_model
from burnin.diagnosis.prior import (
    OF_BENCH,
    P_ELSE,
    P_GOUGE,
    P_NONE,
    P_ONE,
    P_TWO,
    gouges,
    told_of,
)
from burnin.diagnosis.something_else import chance_of_something_else

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.signedinteger[Any]]

SOMETHING_ELSE = -1
"""The class of what no model holds."""
_BENCH_MOVES = (1e-3, 30.0)
"""How far a known-good card can move what is thought of its bench."""
_NEGLIGIBLE = 1e-13
_TOLD_MASS = 1e-5


class Posterior:
    """Probabilities for one record. Raises ValueError where two looks offer different links."""

    def __init__(self, evidence: Evidence, damaged: Collection[str] = ()) -> None:
        import numpy as np

        self.evidence, self.damaged = evidence, damaged
        looks = evidence.looks or (UNSEEN,)
        if len({(look.most_width, look.most_generation) for look in looks}) > 1:
            raise ValueError("the link stages of the record were run on different slots")
        width, most = looks[0].most_width, looks[0].most_generation
        self.looks = looks
        self.faults = faults(width, most)
        self._table, self._shares = link_model(width, most)
        self._silent = self._table.effects.index(SILENT)
        self._bench = bench_shown(evidence)
        self._kinds = bench_kinds(() if evidence.absent else looks, self._bench)
        self._prior()
        self._looked: dict[BenchKind, Floats] = {}
        chances, codes = zip(*(self._of_bench(kind) for kind in self._kinds), strict=True)
        self._looked.clear()
        self._chance: Floats = np.array(chances)
        self._code: Ints = np.array(codes)
        self._joint: Floats = self._pairs[None] * self._chance
        known = float(self._joint.sum())
        other = P_ELSE * chance_of_something_else(evidence)
        self.evidence_probability = known + other
        self._joint /= self.evidence_probability
        self._else = other / self.evidence_probability
        self._masses()

    def _prior(self) -> None:
        """Weights of faults, and the square of what any two of them do before any look."""
        import numpy as np

        base = np.array([fault.weight for fault in self.faults], dtype=np.float64)
        told = told_of(self.faults, self.evidence, self.damaged) * self._bench_told()
        self._weights: Floats = base / base.sum() * told
        self._gouged: Floats = gouges(self.faults, base / base.sum()) * np.outer(told, told)
        self._by_effect: Floats = self._weights @ self._shares
        silent = self._silent
        self._pairs: Floats = P_TWO * np.outer(self._by_effect, self._by_effect)
        self._pairs += P_GOUGE * (self._shares.T @ self._gouged @ self._shares)
        self._pairs[:, silent] += P_ONE * self._by_effect
        self._pairs[silent, silent] += P_NONE

    def _bench_told(self) -> Floats:
        """How many times as probable what the slot showed with a known-good card is by each
        fault of the bench as by none; 1 for faults of the card."""
        import numpy as np

        found = np.ones(len(self.faults))
        looks = tuple(
            look for look in self.evidence.known_good
            if (look.most_width, look.most_generation)
            == (self._table.most_width, self._table.most_generation)
        )  # fmt: skip
        if not looks:
            return found
        chance = np.zeros(len(self._table.effects))
        for kind in bench_kinds(looks, self._bench):
            whole = chance_of_looks(self._table, looks, kind, self._bench)
            chance += kind.share * whole[self._silent, :]
        by_fault = self._shares @ (chance / chance[self._silent])
        for row, fault in enumerate(self.faults):
            if fault.where in OF_BENCH:
                found[row] = by_fault[row]
        return np.clip(found, *_BENCH_MOVES)

    def _of_bench(self, kind: BenchKind) -> tuple[Floats, Ints]:
        """Probability of the record by pair of effects, and the code of what they predict."""
        code, first = codes_of(self._table, self.looks, kind, self.evidence.absent)
        chance = kind.share * presence_of(self._table, first, kind, self.evidence)
        if not self.evidence.absent:
            as_wired = replace(kind, mirrored=False, share=1.0)
            if as_wired not in self._looked:
                looked = chance_of_looks(self._table, self.looks, as_wired, self._bench)
                self._looked[as_wired] = looked
            chance = chance * turned_round(self._table, kind, self._looked[as_wired])
        return chance, code

    def _masses(self) -> None:
        """Probability of each class; pairs without a say are left to none."""
        import numpy as np

        telling = self._joint > _NEGLIGIBLE * self._joint.max()
        telling[:, self._silent, self._silent] = True
        codes, place = np.unique(self._code[telling], return_inverse=True)
        mass = np.bincount(place, weights=self._joint[telling])
        self._mass = {int(code): float(m) for code, m in zip(codes, mass, strict=True)}
        self._mass[SOMETHING_ELSE] = self._else

    def candidates(self, most: int = 5) -> list[Candidate]:
        """The most probable candidates, most probable first."""
        import numpy as np

        found = []
        for number in sorted(self._mass, key=lambda code: -self._mass[code])[:most]:
            whole = self._mass[number]
            if number == SOMETHING_ELSE:
                found.append(Candidate(number, whole, (SILENT, SILENT), 0, 0.0, 0.0))
                continue
            inside = np.where(self._code == number, self._joint, 0.0)
            bench, one, other = np.unravel_index(int(inside.argmax()), inside.shape)
            effects, silent = self._table.effects, self._silent
            none = float(inside[:, silent, silent].sum())
            alone = float(inside[:, silent, :].sum() + inside[:, :, silent].sum()) - 2.0 * none
            two = max(0.0, whole - alone - none)
            likely = (effects[one], effects[other])
            found.append(Candidate(number, whole, likely, int(bench), alone, two))
        return found

    def nothing(self) -> Candidate:
        """The candidate that nothing is wrong."""
        number = self.nothing_class
        return Candidate(number, self._mass[number], (SILENT, SILENT), 0, 0.0, 0.0)

    def accounts(self, number: int) -> list[Account]:
        """The pairs of effects of a class by which the record is at least a twentieth as probable
        as by the best of the class, most probable first."""
        import numpy as np

        mine = self._code == number
        chance = np.where(mine, self._chance, 0.0).max(axis=0)
        mass = np.where(mine, self._joint, 0.0).sum(axis=0)
        chance = np.maximum(chance, chance.T)
        told = (chance >= 0.05 * chance.max()) & (mass + mass.T >= _TOLD_MASS * mass.sum())
        good = np.argwhere(np.triu(told))
        effects = self._table.effects
        found = [
            Account(
                effects[i],
                effects[j],
                float(mass[i, j] + (mass[j, i] if i != j else 0.0)),
                float(chance[i, j]),
            )
            for i, j in good
        ]
        return sorted(found, key=lambda account: -account.probability)

    def members(self, number: int) -> list[Member]:
        """Faults of a class that show in it, most probable first."""
        import numpy as np

        if number == SOMETHING_ELSE:
            return []
        inside = np.where(self._code == number, self._chance, 0.0).sum(axis=0)
        alone, both = self._by_own_effect(inside)
        if number != self.nothing_class:
            alone[self._silent] = both[self._silent] = 0.0
        mass = self._weights * (self._shares @ (alone + both)) + self._by_gouge(inside)
        single = self._weights * (self._shares @ alone)
        order = np.argsort(-mass)
        return [Member(self.faults[i], float(mass[i]), float(single[i])) for i in order]

    def _by_own_effect(self, chance: Floats) -> tuple[Floats, Floats]:
        """Probability of the record and of no other fault, or of any other one, by a fault's own
        effect; relative to that fault's prior."""
        alone = P_ONE * chance[:, self._silent] / self.evidence_probability
        both = P_TWO * (chance + chance.T) @ self._by_effect / self.evidence_probability
        return alone, both

    def _by_gouge(self, chance: Floats) -> Floats:
        """Probability, fault by fault, that it is one of two neighbours hit together."""
        import numpy as np

        one, other = np.nonzero(self._gouged)
        left = self._shares @ (chance + chance.T)
        both = (left[one] * self._shares[other]).sum(axis=1) * self._gouged[one, other]
        found = np.bincount(one, weights=both, minlength=len(self.faults)).astype(np.float64)
        return P_GOUGE * found / self.evidence_probability

    def effects_of(self, fault: Fault) -> dict[Effect, float]:
        """How probable each effect of a fault is, given the record, if the fault is there."""
        alone, both = self._by_own_effect(self._chance.sum(axis=0))
        places = {effect: place for place, effect in enumerate(self._table.effects)}
        weights = {
            effect: share * float((alone + both)[places[effect]])
            for effect, share in fault.shares.items()
        }
        whole = sum(weights.values())
        return {effect: weight / whole for effect, weight in weights.items()} if whole else {}

    def hypotheses(self, paired: int = 40) -> list[Hypothesis]:
        """Nothing, something else, every single fault, and the pairs of the `paired` most probable
        faults, with their probabilities, which add up to 1 (what less probable pairs have is
        shared out)."""
        import numpy as np

        chance = self._chance.sum(axis=0)
        both_ways = chance + chance.T
        own = self._by_own_effect(chance)
        alone, both = (self._weights * (self._shares @ part) for part in own)
        leading = np.argsort(-(alone + both + self._by_gouge(chance)))[:paired]
        rows = self._shares[leading]
        weights = self._weights[leading]
        prior = P_TWO * np.outer(weights, weights)
        prior += 2.0 * P_GOUGE * self._gouged[np.ix_(leading, leading)]
        grid = prior * (rows @ both_ways @ rows.T) / self.evidence_probability
        none = P_NONE * chance[self._silent, self._silent] / self.evidence_probability
        found: list[Hypothesis] = [((), float(none)), ((ELSEWHERE,), self._else)]
        found += [((fault,), float(p)) for fault, p in zip(self.faults, alone, strict=True)]
        for i, one in enumerate(leading):
            for j, other in enumerate(leading[:i]):
                found.append(((self.faults[one], self.faults[other]), float(grid[i, j])))
        whole = sum(p for _, p in found)
        return [(faults_, p / whole) for faults_, p in found]

    @property
    def nothing_class(self) -> int:
        """The class of a card with which nothing is wrong."""
        return int(self._code[0, self._silent, self._silent])

    def account_of(self, names: Collection[str]) -> int:
        """Where in the squares of effects (all benches, flat) the faults by name, none, one or
        two of them, account best for the record."""
        import numpy as np

        by_name = {fault.name: place for place, fault in enumerate(self.faults)}
        rows = [self._shares[by_name[name]] for name in names]
        silent = np.zeros(len(self._table.effects))
        silent[self._silent] = 1.0
        one, other = [*rows, silent, silent][:2]
        account = one[None, :, None] * other[None, None, :] * self._chance
        return int(account.argmax())

    def class_at(self, place: int) -> int:
        """The class of a place that `account_of` gave."""
        return int(self._code.ravel()[place])

    def features_of(self, candidate: Candidate) -> dict[tuple[int, Feature], float]:
        """Probability of each thing seen, by number of the look, if this candidate holds."""
        effects = self._table.effects
        kind = self._kinds[candidate.bench]
        one, other = (effects.index(effect) for effect in candidate.likely)
        if kind.mirrored:
            places = mirrored_places(self._table)
            one, other = places[one], places[other]
        found: dict[tuple[int, Feature], float] = {}
        for number, look in enumerate(self.looks):
            alone = predicted_in(self._table, kind, look, number).at(one, other)
            if not self.evidence.absent:
                for feature, part in likelihoods(alone, look, number).items():
                    found[number, feature] = float(part[0, 0])
        table, whole = self._table, predicted_in(self._table, kind, self.looks[0], 0)
        said = self.evidence
        there = presence(table, whole, said.absent, said.lost, said.starts)
        found[len(self.looks) - 1, Feature.PRESENCE] = float(there[one, other])
        return found

    def best_account(self) -> float:
        """Probability of the record under the effects that account for it best."""
        return float(self._chance.max())
