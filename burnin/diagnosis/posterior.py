"""The posterior: how probable each effect is, and each fault, given what a record shows.

P(fault | record) ∝ P(fault) · Σ P(effects | fault) · P(record | effects), summed over effects and
over whether the port reverses lanes. Two faults are taken as independent of each other (Bayes'
rule; nothing here is a table of cases). Pairs of effects with the same prediction for everything
that was looked at form one class: no more of the same looking tells them apart.
"""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

from burnin.diagnosis.candidates import Account, Candidate, Hypothesis, Member
from burnin.diagnosis.effects import SILENT, Effect
from burnin.diagnosis.evidence import Evidence, LinkLook
from burnin.diagnosis.faults import P_NONE, P_ONE, P_TWO, Fault, faults
from burnin.diagnosis.likelihood import Feature, likelihoods, presence, signature
from burnin.diagnosis.link_model import link_model, predicted_for
from burnin.diagnosis.prediction import Predicted

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

P_REVERSED = 0.10
"""How probable a port numbers the lanes of a narrowed link from the far end (belief)."""
_UNSEEN = LinkLook("", False, 16, 4)
"""What is asked of a card that never came up: whether it did."""


class Posterior:
    """Probabilities for one record. Raises ValueError where two looks offer different links."""

    def __init__(self, evidence: Evidence, damaged: Collection[str] = ()) -> None:
        import numpy as np

        self.evidence = evidence
        looks = evidence.looks or (_UNSEEN,)
        if len({(look.most_width, look.most_generation) for look in looks}) > 1:
            raise ValueError("the link stages of the record were run on different slots")
        width, most = looks[0].most_width, looks[0].most_generation
        self.looks = looks
        self.faults = faults(width, most, damaged)
        self._table, self._shares = link_model(width, most)
        weights: Floats = np.array([fault.weight for fault in self.faults], dtype=np.float64)
        self._weights: Floats = weights / weights.sum()
        self._features: list[list[dict[Feature, Floats]]] = []
        self._predicted: list[list[Predicted]] = []
        masses, codes = [], []
        for reversal in (False, True):
            chance, code = self._bench(reversal)
            masses.append(chance)
            codes.append(code)
        self._chance: Floats = np.array(masses)
        by_effect = self._weights @ self._shares
        silent = self._table.effects.index(SILENT)
        self._by_effect, self._silent = by_effect, silent
        prior = P_TWO * by_effect[:, None] * by_effect[None, :]
        prior[:, silent] += P_ONE * by_effect
        prior[silent, silent] += P_NONE
        self._joint: Floats = prior[None] * self._chance
        self.evidence_probability = float(self._joint.sum())
        self._joint /= self.evidence_probability
        _, inverse = np.unique(np.array(codes), return_inverse=True)
        self._class: Ints = inverse.reshape(self._joint.shape)
        self._class_mass: Floats = np.bincount(
            self._class.ravel(), weights=self._joint.ravel()
        ).astype(np.float64)

    def _bench(self, reversal: bool) -> tuple[Floats, Ints]:
        """Probability of the record by pair of effects, and the code of what they predict."""
        import numpy as np

        chance: Floats = np.full(
            (len(self._table.effects),) * 2, P_REVERSED if reversal else 1.0 - P_REVERSED
        )
        code = np.zeros(chance.shape, dtype=np.int64)
        features: list[dict[Feature, Floats]] = []
        every: list[Predicted] = []
        for look in self.looks:
            predicted = predicted_for(self._table, look.warm, reversal)
            every.append(predicted)
            parts = {} if self.evidence.absent else likelihoods(predicted, look)
            for part in parts.values():
                chance = chance * part
            features.append(parts)
            seen = _UNSEEN if self.evidence.absent else look
            code = code * 1_000_003 + signature(predicted, seen)
        there = presence(self._table, every[0], self.evidence.absent, self.evidence.lost)
        chance = chance * there
        features.append({Feature.PRESENCE: there})
        lost = self._table.lost[:, None] | self._table.lost[None, :]
        self._features.append(features)
        self._predicted.append(every)
        return chance, np.where(every[0].present & lost, -1 - code, code)

    def candidates(self, most: int = 5) -> list[Candidate]:
        """The most probable candidates, most probable first."""
        import numpy as np

        found = []
        for number in np.argsort(-self._class_mass)[:most]:
            inside = np.where(self._class == number, self._joint, 0.0)
            bench, one, other = np.unravel_index(int(inside.argmax()), inside.shape)
            effects = self._table.effects
            silent = self._silent
            none = float(inside[:, silent, silent].sum())
            alone = float(inside[:, silent, :].sum() + inside[:, :, silent].sum()) - 2.0 * none
            whole = float(self._class_mass[number])
            found.append(
                Candidate(
                    int(number), whole, (effects[one], effects[other]), bool(bench), alone,
                    max(0.0, whole - alone - none),
                )
            )
        return found

    def nothing(self) -> Candidate:
        """The candidate that nothing is wrong."""
        number = self.nothing_class
        return Candidate(
            number, float(self._class_mass[number]), (SILENT, SILENT), False, 0.0, 0.0
        )

    def accounts(self, number: int) -> list[Account]:
        """The pairs of effects of a class by which the record is at least a twentieth as probable
        as by the best of the class, most probable first."""
        import numpy as np

        mine = self._class == number
        chance = np.where(mine, self._chance, 0.0).max(axis=0)
        mass = np.where(mine, self._joint, 0.0).sum(axis=0)
        chance = np.maximum(chance, chance.T)
        good = np.argwhere(np.triu(chance >= 0.05 * chance.max()))
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

        inside = np.where(self._class == number, self._chance, 0.0).sum(axis=0)
        alone, both = self._by_own_effect(inside)
        if number != self.nothing_class:
            alone[self._silent] = both[self._silent] = 0.0
        mass = self._weights * (self._shares @ (alone + both))
        single = self._weights * (self._shares @ alone)
        order = np.argsort(-mass)
        return [Member(self.faults[i], float(mass[i]), float(single[i])) for i in order]

    def _by_own_effect(self, chance: Floats) -> tuple[Floats, Floats]:
        """Probability of the record and of no other fault, or of any other one, by a fault's own
        effect; relative to that fault's prior."""
        alone = P_ONE * chance[:, self._silent] / self.evidence_probability
        both = P_TWO * (chance + chance.T) @ self._by_effect / self.evidence_probability
        return alone, both

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
        """Nothing, every single fault, and the pairs of the `paired` most probable faults, with
        their probabilities, which add up to 1 (what less probable pairs have is shared out)."""
        import numpy as np

        chance = self._chance.sum(axis=0)
        own = self._by_own_effect(chance)
        alone, both = (self._weights * (self._shares @ part) for part in own)
        alone = alone * self.evidence_probability
        leading = np.argsort(-(alone + both))[:paired]
        rows = self._shares[leading]
        grid = P_TWO * np.outer(self._weights[leading], self._weights[leading]) * (
            rows @ (chance + chance.T) @ rows.T
        )
        found: list[Hypothesis] = [((), float(P_NONE * chance[self._silent, self._silent]))]
        found += [((fault,), float(p)) for fault, p in zip(self.faults, alone, strict=True)]
        for i, one in enumerate(leading):
            for j, other in enumerate(leading[:i]):
                found.append(((self.faults[one], self.faults[other]), float(grid[i, j])))
        whole = sum(p for _, p in found)
        return [(faults_, p / whole) for faults_, p in found]

    @property
    def nothing_class(self) -> int:
        """The class of a card with which nothing is wrong."""
        return int(self._class[0, self._silent, self._silent])

    def account_of(self, names: Collection[str]) -> int:
        """Where in the square of effects (both benches, flat) the faults by name, none, one or
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
        return int(self._class.ravel()[place])

    def features_of(self, candidate: Candidate) -> dict[tuple[int, Feature], float]:
        """Probability of each thing seen, by number of the look, if this candidate holds."""
        effects = self._table.effects
        one, other = (effects.index(effect) for effect in candidate.likely)
        return {
            (number, feature): float(values[one, other])
            for number, parts in enumerate(self._features[int(candidate.reversed_)])
            for feature, values in parts.items()
        }

    def best_account(self) -> float:
        """Probability of the record under the effects that account for it best."""
        return float(self._chance.max())
