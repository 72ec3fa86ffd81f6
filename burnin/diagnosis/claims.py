"""What a candidate claims, who belongs to it, and what speaks for and against it; as meanings."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from burnin.card.rates import RATE_GTS
from burnin.core.meaning import Cause, Reason, Term, distinct
from burnin.diagnosis.candidates import Account, Candidate, Member
from burnin.diagnosis.effects import Effect
from burnin.diagnosis.faults import Fault, Where, contact_order
from burnin.diagnosis.likelihood import Feature
from burnin.diagnosis.meanings import Claim, DiagnosisTerm, FaultCause, Weight
from burnin.diagnosis.posterior import SOMETHING_ELSE, Posterior
from burnin.diagnosis.seen import feature_note, presence_note, runs

Alternatives = tuple[tuple[Cause, ...], ...]
"""Any one of these may hold; the causes of one hold together."""

_SHARE_TOLD = 0.02
_LIKE = 0.7
"""A member joins those of its kind that are at most so many times as probable."""
_CLAIM_SHARE, _CLAIMS, LIKE_THE_BEST = 0.10, 3, 0.2
_EXPECTED = 0.02
"""Of the likeliest account's probability: what has less is not named with it."""
_FOR_TIMES, _AGAINST_TIMES = 3.0, 3.0
_AT_CONTACTS = {
    Where.CONTACT: FaultCause.CONTACT,
    Where.PAIR: FaultCause.PAIR,
    Where.CAPACITOR: FaultCause.CAPACITOR,
    Where.SLOT_CONTACT: FaultCause.SLOT_CONTACT,
}
_ELSEWHERE = {
    Where.RISER: FaultCause.RISER,
    Where.SLOT_WIRING: FaultCause.SLOT_WIRING,
    Where.HOST_SPEED: FaultCause.HOST_SPEED,
    Where.POWER_SAVING: FaultCause.POWER_SAVING,
    Where.POWER_PATH: FaultCause.POWER_PATH,
    Where.JOINT: FaultCause.JOINT,
    Where.SEATING: FaultCause.SEATING,
}


def _kind(effect: Effect) -> Hashable:
    return effect.kind, effect.generation, effect.regime, effect.warm_only


def _which(lanes: Sequence[int]) -> Term:
    if len(set(lanes)) == 1:
        return DiagnosisTerm.LANE(lane=lanes[0])
    return DiagnosisTerm.ONE_OF_LANES(lanes=runs(lanes))


def _side(effects: Sequence[Effect]) -> Term:
    sides = {effect.side for effect in effects}
    if len(sides) == 2:
        return DiagnosisTerm.EITHER_WAY()
    return DiagnosisTerm.RECEIVED() if sides == {"B"} else DiagnosisTerm.SENT()


def _claim(effects: Sequence[Effect]) -> Cause:
    """What effects of one kind that differ in their lanes claim together; none is silent."""
    first = effects[0]
    lanes = [lane for effect in effects for lane in effect.lanes if len(effect.lanes) == 1]
    warm = DiagnosisTerm.ONCE_WARM() if first.warm_only else None
    match first.kind:
        case "dead":
            if not lanes:
                return Claim.LANES_NOT_WIRED()
            return Claim.LANE_DEAD(which=_which(lanes), warm=warm)
        case "marginal":
            claim = {
                "clean": Claim.LANE_SLOW,
                "errors": Claim.LANE_ERRS,
                "burst": Claim.LANE_ERRS_ABOVE,
            }[first.regime]
            return claim(
                which=_which(lanes), side=_side(effects), speed_gts=_speed(first), warm=warm
            )
        case "lossy":
            return Claim.EVERY_LANE_POOR(speed_gts=_speed(first), warm=warm)
        case "held":
            return Claim.HOST_HOLDS_SPEED(speed_gts=_speed(first))
        case "saving":
            return Claim.SAVING_HOLDS_SPEED(speed_gts=_speed(first))
        case "absent":
            return Claim.NOT_UP()
        case "flaky":
            return Claim.UP_AT_TIMES()
        case _:
            return Claim.LEAVES_THE_BUS()


def _speed(effect: Effect) -> float:
    return RATE_GTS[effect.generation]


def claim_of(posterior: Posterior, candidate: Candidate) -> Alternatives:
    """What a candidate claims: each kind of account that carries a good part of it, with the lanes
    by which the record is about as probable as by any other."""
    if candidate.number == posterior.nothing_class:
        return ((Claim.NOTHING_WRONG(),),)
    if candidate.number == SOMETHING_ELSE:
        return ((Claim.SOMETHING_ELSE(),),)
    by_kind: dict[Hashable, list[Account]] = {}
    for account in posterior.accounts(candidate.number):
        key = frozenset({_kind(account.one), _kind(account.other)})
        by_kind.setdefault(key, []).append(account)
    weights = {key: sum(a.probability for a in part) for key, part in by_kind.items()}
    order = sorted(weights, key=lambda key: -weights[key])
    told = [key for key in order if weights[key] >= _CLAIM_SHARE * candidate.probability]
    claims = (_together(by_kind[key]) for key in (told or order)[:_CLAIMS])
    return tuple(dict.fromkeys(claims))


def _together(accounts: Sequence[Account]) -> tuple[Cause, ...]:
    """Accounts of one kind together: the lanes by which the record is about as probable as by the
    best, without those that nobody would expect there."""
    best = max(account.chance for account in accounts)
    likeliest = max(account.probability for account in accounts)
    groups: dict[Hashable, list[Effect]] = {}
    for account in accounts:
        expected = account.probability >= _EXPECTED * likeliest
        if expected and account.chance >= LIKE_THE_BEST * best:
            for effect in (account.one, account.other):
                if effect.kind != "silent":
                    groups.setdefault(_kind(effect), []).append(effect)
    return distinct([_claim(effects) for effects in groups.values()])


@dataclass(frozen=True)
class SuspectGroup:
    """Members of a candidate of one kind and about the same probability each.

    `where`: a `Where` of the link, or a `StartPlace`; `names` are the faults' own names, `each` the
    mean probability of one of them.
    """

    where: StrEnum
    cause: Cause
    names: tuple[str, ...]
    probability: float
    each: float


def groups_of(members: Sequence[Member], whole: float, most: int = 6) -> list[SuspectGroup]:
    """Members that carry at least a little of their candidate, like ones together."""
    found: list[list[Member]] = []
    last: dict[Where, list[Member]] = {}
    for member in members:
        if not whole or member.probability < whole * _SHARE_TOLD / 4:
            break
        group = last.get(member.fault.where)
        if group is None or member.probability < _LIKE * group[0].probability:
            group = last[member.fault.where] = []
            found.append(group)
        group.append(member)
    groups = [_group(part[0].fault.where, part) for part in found]
    return sorted(groups, key=lambda group: -group.probability)[:most]


def _group(where: Where, members: Sequence[Member]) -> SuspectGroup:
    ordered = sorted((m.fault for m in members), key=_order)
    if where in _AT_CONTACTS:
        cause = _AT_CONTACTS[where](contacts=tuple(fault.at for fault in ordered))
    else:
        cause = _ELSEWHERE[where]()
    probability = sum(m.probability for m in members)
    names = tuple(fault.name for fault in ordered)
    return SuspectGroup(where, cause, names, probability, probability / len(members))


def _order(fault: Fault) -> tuple[str, int, str]:
    """By the fault's first contact along the edge, side A first."""
    first = min(map(contact_order, fault.contacts), default=("", 0))
    return (*first, fault.name)


def for_and_against(
    posterior: Posterior, candidate: Candidate, others: Sequence[Candidate]
) -> tuple[list[Reason], list[Reason]]:
    """What it predicts clearly better, and clearly worse, than the others do; strongest first."""
    if candidate.number == SOMETHING_ELSE:
        return [], []
    mine = posterior.features_of(candidate)
    told = [o for o in others if o.number not in (candidate.number, SOMETHING_ELSE)]
    rest = [posterior.features_of(other) for other in told]
    speaks_for: list[tuple[float, Reason]] = []
    against: list[tuple[float, Reason]] = []
    for (number, feature), chance in mine.items():
        best = max((features[number, feature] for features in rest), default=chance)
        worst = min((features[number, feature] for features in rest), default=chance)
        if chance >= _FOR_TIMES * worst:
            reason = _weighed(Weight.SPEAKS_FOR, posterior, number, feature, chance, worst)
            speaks_for.append((chance / worst, reason))
        if best >= _AGAINST_TIMES * chance:
            reason = _weighed(Weight.SPEAKS_AGAINST, posterior, number, feature, chance, best)
            against.append((best / chance, reason))
    return _strongest(speaks_for), _strongest(against)


def _strongest(weighed: Sequence[tuple[float, Reason]]) -> list[Reason]:
    return [reason for _, reason in sorted(weighed, key=lambda pair: -pair[0])]


def _weighed(
    weight: Weight, posterior: Posterior, number: int, feature: Feature, chance: float, other: float
) -> Reason:
    if feature is Feature.PRESENCE:
        seen = presence_note(posterior.evidence)
    else:
        seen = feature_note(posterior.looks[number], feature)
    return weight(seen=seen, expected_pct=_percent(chance), otherwise_pct=_percent(other))


def _percent(chance: float) -> float:
    """Per cent, whole from 1 on, below with two digits."""
    return float(f"{100 * chance:.0f}" if chance >= 0.01 else f"{100 * chance:.2g}")
