"""Starts and link told as one answer: two independent parts of the card, each with its candidates.

The link is asked of its looks alone, so that no start, no meter's word at a contact of supply or
signal, and no card that left is counted twice. A candidate of the whole is one of each part; how
probable it is follows from the odds of either against nothing being wrong there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from burnin.connector.contact_map import contacts
from burnin.diagnosis.candidates import Candidate
from burnin.diagnosis.evidence import Evidence
from burnin.diagnosis.posterior import SOMETHING_ELSE, Posterior
from burnin.diagnosis.start.explain_start import StartCandidate
from burnin.diagnosis.start.start_faults import StartPlace

_OF_LINK = ("lane_tx", "lane_rx", "ground")
_MOST = 6
"""Candidates of the link that are weighed against those of the start."""
_POOR_CLOCK = 10.0
"""How many times as often every lane is poor where the clock's contact is, than else (estimate)."""
_BOTH = 0.3
"""How much rarer two parts fail together than two of the same card by chance: the weights of
either already count cards that have another fault (estimate)."""


@dataclass(frozen=True)
class WholeCandidate:
    """What holds of start and link together; None for the link where nobody could look at it.
    Where `start` and `link` both say nothing, nothing is wrong. `other`: what no model holds."""

    probability: float
    start: StartCandidate | None
    link: Candidate | None
    other: bool = False


def of_link_alone(evidence: Evidence) -> Evidence:
    """What speaks of the link once starts are explained elsewhere."""
    measured = tuple(m for m in evidence.measured if contacts()[m.contact].group in _OF_LINK)
    return replace(evidence, measured=measured, starts=(), absent=False, lost=False)


def whole_of(
    start: Sequence[StartCandidate], posterior: Posterior | None
) -> tuple[WholeCandidate, ...]:
    """Candidates of the whole, most probable first; they add up to 1. `posterior`: of the link
    alone, None where no card came up."""
    if posterior is None:
        found = [WholeCandidate(s.probability, s, None, _other(s)) for s in start]
        return tuple(found)
    nothing = posterior.nothing()
    links = [c for c in posterior.candidates(_MOST) if c.number != posterior.nothing_class]
    rest = sum(s.probability for s in start if not s.nothing)
    clean = max(1e-12, 1.0 - rest)
    found, other = [], 0.0
    poor = {c.number for c in links if _every_lane_poor(posterior, c)}
    for alone in start:
        for link in (nothing, *links):
            one = _with_clock(alone) if link.number in poor else alone
            odds = one.probability / clean
            against = link.probability / max(1e-12, nothing.probability)
            both = _BOTH if not one.nothing and link is not nothing else 1.0
            mass = odds * against * both
            if _other(one) or link.number == SOMETHING_ELSE:
                other += mass
            else:
                found.append(WholeCandidate(mass, one, link))
    found.append(WholeCandidate(other, None, None, True))
    whole = sum(candidate.probability for candidate in found)
    found = [replace(c, probability=c.probability / whole) for c in found]
    return tuple(sorted(found, key=lambda candidate: -candidate.probability))


def _every_lane_poor(posterior: Posterior, candidate: Candidate) -> bool:
    """Whether one effect on every lane carries most of the candidate."""
    if candidate.number == SOMETHING_ELSE:
        return False
    found = posterior.accounts(candidate.number)
    mass = sum(a.probability for a in found if "lossy" in (a.one.kind, a.other.kind))
    return mass > 0.5 * candidate.probability


def _with_clock(candidate: StartCandidate) -> StartCandidate:
    """The same once every lane is poor: the clock's contacts are likelier than before."""
    if candidate.nothing:
        return candidate
    suspects = [
        replace(s, probability=s.probability * _POOR_CLOCK) if s.place is StartPlace.CLOCK else s
        for s in candidate.suspects
    ]
    suspects.sort(key=lambda suspect: -suspect.probability)
    return StartCandidate(sum(s.probability for s in suspects), False, tuple(suspects))


def _other(candidate: StartCandidate) -> bool:
    return all(suspect.place is StartPlace.ELSE for suspect in candidate.suspects)
