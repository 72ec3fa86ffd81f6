"""Explanations in words: what a class claims, who belongs to it, what speaks for and against it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from burnin.diagnosis.effects import Effect
from burnin.diagnosis.evidence import Evidence, LinkLook
from burnin.diagnosis.explanation import Account, Explanation, Member
from burnin.diagnosis.posterior import Posterior

_SPEEDS = {1: "2.5", 2: "5", 3: "8", 4: "16", 5: "32", 6: "64"}
_SHARE_TOLD = 0.02
_CLAIM_SHARE, _CLAIMS, _LIKE_THE_BEST = 0.10, 3, 0.5
_FOR_TIMES, _AGAINST_TIMES = 3.0, 3.0
WHERE_TITLES = {
    "contact": "a contact of the card's edge",
    "pair": "both contacts of a pair",
    "capacitor": "a coupling capacitor on the card, beside",
    "slot contact": "a spring of the slot or riser, at",
    "riser": "a riser too poor for the speed",
    "slot wiring": "a slot with fewer lanes wired than its port says",
    "host speed": "the host's set-up holds the speed",
    "power saving": "link power saving of the host",
    "power path": "the 12 V path: several slot contacts or a plug",
    "joint": "a joint or chip on the card that gives way",
    "seating": "the card is not fully seated",
}


def speed_text(generation: int | None) -> str:
    """A generation's rate as ``16 GT/s``."""
    return "unknown speed" if generation is None else f"{_SPEEDS.get(generation, '?')} GT/s"


def number_list(numbers: Iterable[int]) -> str:
    """Numbers with runs shortened: ``3, 8 to 15``."""
    runs: list[list[int]] = []
    for number in sorted(set(numbers)):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    parts = []
    for run in runs:
        parts.append(f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(map(str, run)))
    return ", ".join(parts)


def count_text(count: int) -> str:
    """A count of errors as words."""
    return f"{count} error" if count == 1 else f"{count} errors"


def sure_text(probability: float) -> str:
    """A probability in per cent that never claims more than it can."""
    return "> 99 %" if probability > 0.99 else f"{100 * probability:.0f} %"


def look_text(look: LinkLook) -> str:
    """What one link stage saw, in one line."""
    width = "?" if look.width is None else str(look.width)
    parts = [f"{width} of {look.most_width} lanes", f"{speed_text(look.generation)}"]
    if look.generation != look.most_generation:
        parts[-1] += f" of {speed_text(look.most_generation)}"
    for place, end in enumerate(("card", "port")):
        count, lanes = look.errors[place], look.lanes[place]
        told = "errors not counted" if count is None else count_text(count)
        if lanes:
            told += f", error bit of lane {number_list(lanes)}"
        parts.append(f"{end}: {told}")
    if all(lanes is None for lanes in look.lanes):
        parts.append("lane error registers not read")
    return "; ".join(parts)


def _kind(effect: Effect) -> tuple[object, ...]:
    return effect.kind, effect.generation, effect.regime, effect.warm_only


def _claim(effects: Sequence[Effect]) -> str:
    """What effects of one kind that differ in their lanes claim together."""
    first = effects[0]
    lanes = [lane for effect in effects for lane in effect.lanes if len(effect.lanes) == 1]
    warm = ", once the card is warm" if first.warm_only else ""
    which = f"lane {number_list(lanes)}" if len(set(lanes)) == 1 else (
        f"one of lanes {number_list(lanes)}"
    )
    sides = {effect.side for effect in effects}
    side = "either way" if len(sides) == 2 else (
        "what the card receives" if sides == {"B"} else "what the card sends"
    )
    match first.kind:
        case "silent":
            return "nothing that the link shows"
        case "dead":
            return f"{which} carries nothing{warm}" if lanes else "lanes are not wired"
        case "marginal":
            what = {
                "clean": f"holds no more than {speed_text(first.generation)}",
                "errors": f"makes errors at {speed_text(first.generation)}",
                "burst": f"makes errors above {speed_text(first.generation)} and falls back",
            }[first.regime]
            return f"{which}, {side}, {what}{warm}"
        case "lossy":
            return f"every lane is poor at more than {speed_text(first.generation)}{warm}"
        case "held":
            return f"the host's set-up holds the link at {speed_text(first.generation)}"
        case "saving":
            return f"power saving keeps the link at {speed_text(first.generation)}"
        case "absent":
            return "the card does not come up: reset, clock, power, lane 0 or seating"
        case _:
            return "the card leaves the bus while it works"


def claim_text(posterior: Posterior, explanation: Explanation) -> str:
    """What a class claims: each kind of account that carries a good part of it, with the lanes by
    which the record is about as probable as by any other."""
    if explanation.number == posterior.nothing_class:
        return "Nothing is wrong that the link could show."
    by_kind: dict[frozenset[tuple[object, ...]], list[Account]] = {}
    for account in posterior.accounts(explanation.number):
        key = frozenset({_kind(account.one), _kind(account.other)})
        by_kind.setdefault(key, []).append(account)
    weights = {key: sum(a.probability for a in part) for key, part in by_kind.items()}
    order = sorted(weights, key=lambda key: -weights[key])
    told = [key for key in order if weights[key] >= _CLAIM_SHARE * explanation.probability]
    claims = dict.fromkeys(_account_text(by_kind[key]) for key in (told or order)[:_CLAIMS])
    text = "; or ".join(claims)
    return f"{text[:1].upper()}{text[1:]}."


def _account_text(accounts: Sequence[Account]) -> str:
    """Accounts of one kind together: the lanes of all that are about as probable as the best."""
    best = max(account.chance for account in accounts)
    groups: dict[tuple[object, ...], list[Effect]] = {}
    for account in accounts:
        if account.chance >= _LIKE_THE_BEST * best:
            for effect in (account.one, account.other):
                if effect.kind != "silent":
                    groups.setdefault(_kind(effect), []).append(effect)
    return " and ".join(dict.fromkeys(_claim(effects) for effects in groups.values()))


@dataclass(frozen=True)
class Group:
    """Members of a class of one kind and about the same probability each."""

    where: str
    names: tuple[str, ...]
    probability: float
    each: float


def groups_of(members: Sequence[Member], whole: float, most: int = 6) -> list[Group]:
    """Members that carry at least a little of their class, like ones together."""
    found: dict[tuple[str, int], list[Member]] = {}
    for member in members:
        share = member.probability / whole if whole else 0.0
        if share < _SHARE_TOLD / 4:
            break
        found.setdefault((member.fault.where, round(200 * share)), []).append(member)
    groups = [
        Group(
            where,
            tuple(sorted((m.fault.name for m in part), key=_order)),
            sum(m.probability for m in part),
            sum(m.probability for m in part) / len(part),
        )
        for (where, _), part in found.items()
    ]
    return sorted(groups, key=lambda group: -group.probability)[:most]


def _order(name: str) -> tuple[str, int, str]:
    last = name.split()[-1].split("+")[0]
    return (last[:1], int(last[1:]), name) if last[1:].isdigit() else (last, 0, name)


def group_text(group: Group) -> str:
    """A group in one line."""
    title = WHERE_TITLES[group.where]
    if group.where not in ("contact", "pair", "capacitor", "slot contact"):
        return title
    names = ", ".join(name.split()[-1] for name in group.names)
    return f"{title}: {names}" if group.where in ("contact", "pair") else f"{title} {names}"


def _seen_text(evidence: Evidence, looks: Sequence[LinkLook], key: str) -> str:
    """What was seen, for a key of `Posterior.features_of`."""
    number, _, name = key.partition(" ")
    if name == "presence":
        if evidence.absent:
            return "no card came up"
        return "the card left the bus" if evidence.lost else "the card came up and stayed"
    look = looks[int(number)]
    where = f"{look.stage}{', card warm' if look.warm else ''}: "
    if name == "width":
        return f"{where}{look.width} of {look.most_width} lanes"
    if name == "speed":
        return f"{where}{speed_text(look.generation)} of {speed_text(look.most_generation)}"
    if name == "fastest":
        return f"{where}at most {speed_text(look.top_generation)} was seen"
    if name == "link kept reliable":
        told = "says" if look.managed else "does not say"
        return f"{where}the port {told} that it lowered the link to keep it reliable"
    if name == "target speed":
        return f"{where}the port aims at {speed_text(look.target_generation)}"
    end = name.rpartition(" ")[2]
    place = 0 if end == "card" else 1
    if name.startswith("lane"):
        lanes = look.lanes[place] or frozenset()
        bits = f"lane {number_list(lanes)}" if lanes else "no lane"
        return f"{where}{end}'s error bits: {bits}"
    return f"{where}{count_text(look.errors[place] or 0)} at the {end}"


def for_and_against(
    posterior: Posterior, explanation: Explanation, others: Sequence[Explanation]
) -> tuple[list[str], list[str]]:
    """Sentences: what it predicts clearly better, and clearly worse, than the others do."""
    mine = posterior.features_of(explanation)
    rest = [posterior.features_of(o) for o in others if o.number != explanation.number]
    speaks_for: list[tuple[float, str]] = []
    against: list[tuple[float, str]] = []
    for key, chance in mine.items():
        best = max((features[key] for features in rest), default=chance)
        worst = min((features[key] for features in rest), default=chance)
        seen = _seen_text(posterior.evidence, posterior.looks, key)
        if chance >= _FOR_TIMES * worst:
            speaks_for.append((chance / worst, f"{seen} (expected {_percent(chance)} of the time;"
                               f" otherwise down to {_percent(worst)})"))
        if best >= _AGAINST_TIMES * chance:
            against.append((best / chance, f"{seen} (expected {_percent(chance)} of the time;"
                            f" otherwise up to {_percent(best)})"))
    order = lambda pair: -pair[0]  # noqa: E731
    return (
        [text for _, text in sorted(speaks_for, key=order)],
        [text for _, text in sorted(against, key=order)],
    )


def _percent(chance: float) -> str:
    return f"{100 * chance:.0f} %" if chance >= 0.01 else f"{100 * chance:.2g} %"
