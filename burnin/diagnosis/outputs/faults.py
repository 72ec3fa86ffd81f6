"""Which fault explains display outputs: a contact, cable, monitor, or what all outputs share.

An output has at most one fault of its own; beside them something that several share may be wrong:
the driver, the 5 V that the connectors hand to screens, what lies behind the outputs. The posterior
follows from the beliefs (`beliefs.py`) by Bayes' rule.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from burnin.core.meaning import Cause, Check
from burnin.diagnosis.meanings import NextCheck, OutputCause
from burnin.diagnosis.outputs.beliefs import OWN, SHARED, WELL, contacts_of
from burnin.diagnosis.outputs.looks import OutputLook

TOLD_FROM = 0.02
MOST_POINTS = 6
_WORTH_TRYING = 0.05
"""Another cable is tried in a minute: from this probability of a bad one on it comes first."""


@dataclass(frozen=True)
class OutputSuspect:
    """One cause at an output with its probability, and the connector's contacts that it concerns.

    `output`: its name, or the names of all that share the cause. `contacts` are named as in
    `burnin.connector.other_connectors`.
    """

    output: str
    cause: Cause
    contacts: tuple[str, ...]
    probability: float


@dataclass(frozen=True)
class _Masses:
    """Probability of the looks by each output's own cause, and by each cause that they share."""

    own: tuple[Mapping[Cause, float], ...]
    shared: Mapping[Cause, float]

    @property
    def alone(self) -> float:
        """Nothing is shared."""
        rest = 1.0 - sum(weight for _, weight, _, _ in SHARED)
        return rest * math.prod(sum(masses.values()) for masses in self.own)

    @property
    def whole(self) -> float:
        """By any cause."""
        return self.alone + sum(self.shared.values())


def _masses(looks: Sequence[OutputLook]) -> _Masses:
    own = tuple(_own(look) for look in looks)
    shared = {
        cause: weight * math.prod(chance(look) for look in looks)
        for cause, weight, chance, _ in SHARED
    }
    return _Masses(own, shared)


def _own(look: OutputLook) -> dict[Cause, float]:
    """Probability of a look by each cause of its own; ways to have one cause add up."""
    found: dict[Cause, float] = {}
    for belief in OWN:
        found[belief.cause] = found.get(belief.cause, 0.0) + belief.weight * belief.chance(look)
    return found


def probability_well(looks: Sequence[OutputLook]) -> float:
    """Probability that nothing is wrong at any output; 1 without outputs."""
    if not looks:
        return 1.0
    masses = _masses(looks)
    well = math.prod(own[WELL.cause] / sum(own.values()) for own in masses.own)
    return well * masses.alone / masses.whole


def explain_outputs(looks: Sequence[OutputLook]) -> tuple[OutputSuspect, ...]:
    """Causes of what the outputs showed, output by output, most probable first.

    Empty for an output at which most probably nothing is wrong. A cause that most probably several
    share is told once, for all of them.
    """
    if not looks:
        return ()
    masses = _masses(looks)
    groups = {cause: groups for cause, _, _, groups in SHARED}
    shared = {cause: mass / masses.whole for cause, mass in masses.shared.items()}
    first = max(shared, key=lambda cause: shared[cause])
    if shared[first] > 0.5:
        return _of_all(looks, first, groups[first], shared[first])
    found: list[OutputSuspect] = []
    alone = masses.alone / masses.whole
    for look, own in zip(looks, masses.own, strict=True):
        of_own = {cause: alone * mass / sum(own.values()) for cause, mass in own.items()}
        found += _of_one(look, of_own, shared, groups)
    return tuple(found)


def _of_one(
    look: OutputLook,
    own: Mapping[Cause, float],
    shared: Mapping[Cause, float],
    groups: Mapping[Cause, frozenset[str]],
) -> list[OutputSuspect]:
    at: dict[Cause, frozenset[str]] = {b.cause: b.groups for b in OWN} | dict(groups)
    ranked = sorted((dict(own) | dict(shared)).items(), key=lambda item: -item[1])
    if ranked[0][0].means(OutputCause.NOTHING):
        return []
    return [
        OutputSuspect(look.name, cause, _suspected(look, at[cause]), probability)
        for cause, probability in ranked
        if probability >= TOLD_FROM
    ]


def _of_all(
    looks: Sequence[OutputLook], cause: Cause, groups: frozenset[str], probability: float
) -> tuple[OutputSuspect, ...]:
    hit = [look for look in looks if not groups or contacts_of(look.name, groups)]
    if cause.means(OutputCause.SCREEN_POWER):
        hit = [look for look in hit if look.name.startswith("HDMI")]
    names = ", ".join(look.name for look in hit)
    at = tuple(dict.fromkeys(c for look in hit for c in _suspected(look, groups)))
    return (OutputSuspect(names, cause, at, probability),)


def next_at_output(suspects: Sequence[OutputSuspect]) -> Check | None:
    """What to do next at one output: a cable while one is likely, then what the first cause asks.

    No more than `MOST_POINTS` contacts are asked for at once.
    """
    if not suspects:
        return None
    if any(s.cause.means(OutputCause.CABLE) and s.probability >= _WORTH_TRYING for s in suspects):
        return NextCheck.SWAP_CABLE(output=suspects[0].output)
    first = suspects[0]
    if first.contacts:
        return NextCheck.METER_OUTPUT(contacts=first.contacts[:MOST_POINTS])
    checks = {
        OutputCause.MONITOR: NextCheck.OTHER_MONITOR, OutputCause.DRIVER: NextCheck.OTHER_DRIVER,
        OutputCause.BEHIND: NextCheck.COMPUTE_WITH_PICTURE,
    }  # fmt: skip
    return next((check() for code, check in checks.items() if first.cause.means(code)), None)


def _suspected(look: OutputLook, groups: frozenset[str]) -> tuple[str, ...]:
    """Contacts of these groups, open ones alone where there are any, without what was sound."""
    own = contacts_of(look.name, groups)
    is_open = tuple(name for name in own if name in look.open_contacts)
    return is_open or tuple(name for name in own if name not in look.sound_contacts)
