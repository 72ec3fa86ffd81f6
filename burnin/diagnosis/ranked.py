"""Candidates of start and link as they are told: claims, suspects, what speaks for and against."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from enum import StrEnum

from burnin.diagnosis.candidates import Candidate
from burnin.diagnosis.claims import Alternatives, SuspectGroup, claim_of, for_and_against, groups_of
from burnin.diagnosis.evidence import Evidence
from burnin.diagnosis.explanation import Ranked
from burnin.diagnosis.meanings import Claim
from burnin.diagnosis.posterior import SOMETHING_ELSE, Posterior
from burnin.diagnosis.start.told_start import claim_of_start, groups_of_start
from burnin.diagnosis.start.with_link import WholeCandidate
from burnin.diagnosis.weighed import Weighed

_LISTED, _LISTED_FROM = 4, 0.02
_MOST_FOR, _MOST_AGAINST = 5, 4


def ranked_of(found: Weighed, evidence: Evidence) -> Iterator[Ranked]:
    """Those worth telling, most probable first; at least one."""
    told = [c for c in found.whole[:_LISTED] if c.probability >= _LISTED_FROM] or found.whole[:1]
    links = [c.link for c in told if c.link is not None]
    ranked = [_ranked(found, candidate, links, evidence) for candidate in told]
    by_claim: dict[Alternatives, list[Ranked]] = {}
    for one in ranked:
        by_claim.setdefault(one.claim, []).append(one)
    if found.link is None:
        # Where no card came up, what it would do at other starts is nothing that was seen.
        ranked = [_together(alike) for alike in by_claim.values()]
    yield from ranked


def _together(alike: Sequence[Ranked]) -> Ranked:
    """Candidates that claim the same, as one."""
    groups: dict[StrEnum, list[SuspectGroup]] = {}
    for group in (g for one in alike for g in one.groups):
        groups.setdefault(group.where, []).append(group)
    merged = [
        replace(
            part[0],
            names=tuple(dict.fromkeys(name for group in part for name in group.names)),
            probability=sum(group.probability for group in part),
            each=sum(group.each for group in part),
        )
        for part in groups.values()
    ]
    return replace(
        alike[0],
        probability=sum(one.probability for one in alike),
        one_fault=sum(one.one_fault for one in alike),
        groups=tuple(sorted(merged, key=lambda group: -group.probability)),
    )


def _ranked(
    found: Weighed, candidate: WholeCandidate, links: Sequence[Candidate], evidence: Evidence
) -> Ranked:
    probability, start = candidate.probability, candidate.start
    if candidate.other or start is None:
        return Ranked(((Claim.SOMETHING_ELSE(),),), probability, 0.0, 0.0, (), (), ())
    of_link = None
    if candidate.link is not None and found.link is not None:
        of_link = _of_link(found.link, candidate.link, probability, links)
    if start.nothing and of_link is not None:
        return of_link
    if start.nothing:
        return Ranked(((Claim.NOTHING_WRONG(),),), probability, 0.0, 0.0, (), (), ())
    own, groups = claim_of_start(evidence), groups_of_start(start, probability)
    if of_link is None or not found.link_shows(candidate):
        return Ranked(((own,),), probability, probability, 0.0, groups, (), ())
    claim = tuple((own, *together) for together in of_link.claim)
    both: tuple[SuspectGroup, ...] = (*groups, *of_link.groups)
    return Ranked(claim, probability, 0.0, probability, both, of_link.speaks_for, of_link.against)


def _of_link(
    posterior: Posterior, candidate: Candidate, whole: float, others: Sequence[Candidate]
) -> Ranked:
    """A candidate of the link, with the probability that the whole has."""
    compared = [*others, posterior.nothing()]
    speaks_for, against = for_and_against(posterior, candidate, compared)
    shown = candidate.number not in (posterior.nothing_class, SOMETHING_ELSE)
    scale = whole / candidate.probability if candidate.probability else 0.0
    members = posterior.members(candidate.number) if shown else []
    groups = [
        SuspectGroup(g.where, g.cause, g.names, scale * g.probability, scale * g.each)
        for g in groups_of(members, candidate.probability)
    ]
    return Ranked(
        claim_of(posterior, candidate),
        whole,
        scale * candidate.one_fault,
        scale * candidate.two_faults,
        tuple(groups),
        tuple(speaks_for[:_MOST_FOR]),
        tuple(against[:_MOST_AGAINST]),
    )
