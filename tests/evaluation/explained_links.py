"""How faults of the link that another hand drew are explained; run it as a module.

A case is right where the first candidate is of what is true: nothing for what shows nowhere, else
a class of start and link together that tells the true place, by a group's contact or by the lanes
that its claim names (the lane's contacts for a joint of the card; for two faults both). Its kind is
right where most of its probability lies in the family of the truth. Calibration: ten bins of equal
width, weighted mean of |said - was right|, with a bootstrap over cases.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from random import Random
from typing import Any, Protocol

from burnin.connector.contact_map import contacts
from burnin.diagnosis.candidates import Candidate, Member
from burnin.diagnosis.claims import LIKE_THE_BEST, groups_of
from burnin.diagnosis.explain import TOLD_FROM
from burnin.diagnosis.faults import Where
from burnin.diagnosis.posterior import SOMETHING_ELSE, Posterior
from burnin.diagnosis.prior import OF_BENCH
from burnin.diagnosis.start.explain_start import told as told_suspects
from burnin.diagnosis.start.start_faults import StartPlace
from burnin.diagnosis.start.with_link import WholeCandidate
from burnin.diagnosis.weighed import weighed
from tests.evaluation.explained_evidence import damaged_of, evidence_of
from tests.evaluation.score import wilson
from tests.others.explained.draw import cases

_AT_LANE = {"contact", "gouge", "capacitor", "joint", "slot spring", "ground"}
_TELLS_PLACE = {
    "riser": Where.RISER, "slot wiring": Where.SLOT_WIRING, "host speed": Where.HOST_SPEED,
    "power saving": Where.POWER_SAVING, "power path": Where.POWER_PATH, "seating": Where.SEATING,
}  # fmt: skip
_FAMILY = {
    Where.CONTACT: "lane", Where.PAIR: "lane", Where.CAPACITOR: "lane",
    Where.SLOT_CONTACT: "lane", Where.JOINT: "leaves", Where.POWER_PATH: "leaves",
}  # fmt: skip
_FAMILY_OF_START = {
    StartPlace.JOINT: "leaves", StartPlace.POWER_PATH: "leaves", StartPlace.SUPPLY_UNIT: "leaves",
    StartPlace.SEATING: str(Where.SEATING), StartPlace.ELSE: "something else",
}  # fmt: skip
"""A contact of signal or supply is of one family with those of the lanes."""


@dataclass(frozen=True)
class Scored:
    """One case: what was true in a word, whether place and kind came first, and how surely."""

    kind: str
    visibility: str
    said: float
    place: bool
    family: bool
    both: bool | None
    nuisance: tuple[str, ...]
    shows: bool
    number: int


def score(case: dict[str, Any], number: int) -> Scored:
    """Explain one case and compare."""
    seen, truth = case["seen"], case["truth"]
    found = weighed(evidence_of(seen), damaged_of(seen))
    first = found.whole[0]
    names, members = set(_start_names(first)), list[Member]()
    nothing = first.start is not None and first.start.nothing
    other = first.other
    if first.link is not None and found.link is not None:
        nothing = nothing and first.link.number == found.link.nothing_class
        other = other or first.link.number == SOMETHING_ELSE
        members = found.link.members(first.link.number)
        names |= _link_names(found.link, first.link, members)
    kind = truth["kind"]
    if kind == "sound" or not truth["shows"]:
        place = nothing
        family = nothing or _of_bench(members)
        both = None
    elif kind == "something else":
        place = family = other or first.probability < TOLD_FROM
        both = None
    else:
        hidden = bool(truth["second"]) and not truth.get("both_show")
        place = not nothing and (
            _place(truth, names) or (hidden and _place(truth["second"], names))
        )
        family = not nothing and _family(truth) == _told(first, members, seen["absent"])
        both = None
        if truth["second"] and truth.get("both_show"):
            both = _place(truth, names) and _place(truth["second"], names)
    return Scored(
        "two" if truth["second"] else kind, case["visibility"], first.probability, place, family,
        both, tuple(truth["nuisance"]), truth["shows"], number,
    )  # fmt: skip


def _start_names(first: WholeCandidate) -> Iterator[str]:
    """Contacts and places that its start tells."""
    for suspect in () if first.start is None else told_suspects(first.start):
        yield from suspect.points
        yield str(suspect.place)


def _link_names(posterior: Posterior, first: Candidate, members: Sequence[Member]) -> set[str]:
    """Names of its groups, and contacts of the lanes that its claim names."""
    if first.number in (SOMETHING_ELSE, posterior.nothing_class):
        return set()
    every = groups_of(members, first.probability)
    names = {part for group in every for name in group.names for part in (name, *_parts(name))}
    accounts = posterior.accounts(first.number)
    best = max((account.chance for account in accounts), default=0.0)
    lanes = {
        (lane, effect.side if effect.kind == "marginal" else "")
        for account in accounts
        if account.chance >= LIKE_THE_BEST * best
        for effect in (account.one, account.other)
        for lane in effect.lanes
    }
    return names | {
        c.name for c in contacts().values()
        if (c.lane, "") in lanes or (c.lane, c.side) in lanes
    }  # fmt: skip


def _parts(name: str) -> list[str]:
    """The contacts of a pair by themselves."""
    return name.split("+") if "+" in name else []


def _place(truth: dict[str, Any], names: set[str]) -> bool:
    at_slot = {f"slot at {name}" for name in truth["contacts"]}
    if truth["kind"] == "riser" and at_slot & names:
        return True
    if truth["effect"] == "gone" and truth["kind"] == "joint":
        return str(Where.JOINT) in names
    if truth["kind"] in _TELLS_PLACE:
        return str(_TELLS_PLACE[truth["kind"]]) in names
    near = set(truth["contacts"])
    if truth["kind"] in ("joint", "capacitor") or truth["effect"] == "open both":
        group = "lane_rx" if truth["side"] == "B" else "lane_tx"
        near |= {
            c.name for c in contacts().values()
            if truth["lane"] is not None and c.lane == truth["lane"] and c.group == group
        }  # fmt: skip
    return bool(near & names)


def _family(truth: dict[str, Any]) -> str:
    if truth.get("absent", False):
        return "absent"
    if truth["kind"] == "power path" or truth["effect"] == "gone":
        return "leaves"
    return "lane" if truth["kind"] in _AT_LANE else str(_TELLS_PLACE.get(truth["kind"], "lane"))


def _told(first: WholeCandidate, members: Sequence[Member], absent: bool) -> str:
    """The family that has most of a candidate's probability."""
    if absent:
        return "absent"
    mass: Counter[str] = Counter()
    for member in members:
        where = member.fault.where
        mass[_FAMILY.get(where, str(where))] += member.probability  # type: ignore[assignment]
    if first.start is not None and not first.start.nothing and not mass:
        likely = max(first.start.suspects, key=lambda suspect: suspect.probability).place
        return _FAMILY_OF_START.get(likely, "lane")
    return mass.most_common(1)[0][0] if mass else "something else"


def _of_bench(members: Sequence[Member]) -> bool:
    """Whether most of a candidate lies with the bench."""
    whole = sum(member.probability for member in members)
    bench = sum(m.probability for m in members if m.fault.where in OF_BENCH)
    return bool(members) and bench > 0.5 * whole


class Said(Protocol):
    """An answer as it is calibrated: what was said, and whether the place was right."""

    @property
    def said(self) -> float:
        """Probability of the first candidate."""

    @property
    def place(self) -> bool:
        """Whether it was right."""


def error(cases: Sequence[Said]) -> float:
    """Expected calibration error in ten bins."""
    bins: list[list[Said]] = [[] for _ in range(10)]
    for case in cases:
        bins[min(9, int(10 * case.said))].append(case)
    return sum(
        abs(sum(c.said for c in part) - sum(c.place for c in part)) for part in bins
    ) / max(1, len(cases))  # fmt: skip


def interval(cases: Sequence[Said], rng: Random) -> tuple[float, float]:
    """95 % of 400 bootstrap samples."""
    found = sorted(error(rng.choices(cases, k=len(cases))) for _ in range(400))
    return found[10], found[389]


def told(scored: Sequence[Scored]) -> Iterable[str]:
    """The table, a line each."""

    def line(name: str, part: Sequence[bool]) -> str:
        if not part:
            return f"{name:<44} none"
        low, high = wilson(sum(part), len(part))
        count = f"{sum(part):>5}/{len(part):<5} {sum(part) / len(part):.3f}"
        return f"{name:<44} {count} ({low:.3f}-{high:.3f})"

    traced = [s for s in scored if s.shows and s.kind not in ("sound", "something else")]
    sound = [s for s in scored if s.kind == "sound"]
    one = [s for s in traced if s.kind != "two"]
    yield line("one fault with a trace: place first", [s.place for s in one])
    yield line("one fault with a trace: family first", [s.family for s in one])
    yield line("two faults: both", [s.both for s in traced if s.both is not None])
    yield line("sound called sound", [s.place for s in sound])
    yield line("sound called sound, or the bench named", [s.place or s.family for s in sound])
    for word in sorted({n for s in sound for n in s.nuisance}):
        yield line(f"  of these {word}", [s.place for s in sound if word in s.nuisance])
    yield line("said 0.99 or more: right", [s.place for s in scored if s.said >= 0.99])
    for kind, count in sorted(Counter(s.kind for s in traced).items()):
        yield line(f"  {kind} ({count})", [s.place for s in traced if s.kind == kind])
    rng = Random(1)
    yield f"calibration error {error(scored):.3f} {interval(scored, rng)}"
    for way in sorted({s.visibility for s in scored}):
        part = [s for s in scored if s.visibility == way]
        low, high = interval(part, rng)
        yield f"  {way:<12} {error(part):.3f} ({low:.3f}-{high:.3f}) of {len(part)}"


def main() -> int:
    """Print the table."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--seed", type=int, default=1000)
    asked.add_argument("--count", type=int, default=200)
    asked.add_argument("--wrong", action="store_true", help="print the wrong ones as JSON")
    given = asked.parse_args()
    scored = []
    for number, drawn in enumerate(cases("link", given.seed, given.count)):
        case = drawn.to_dict()
        one = score(case, number)
        scored.append(one)
        if given.wrong and not one.place and one.shows:
            print(json.dumps({"said": one.said, "number": number, **case}))
    for line in told(scored):
        print(line, file=sys.stderr if given.wrong else sys.stdout)
    return 0


if __name__ == "__main__":
    sys.exit(main())
