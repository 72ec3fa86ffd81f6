"""How what keeps a card from starting, drawn by another hand, is explained; run it as a module.

A case is right where the first candidate is of what is true: nothing for what shows nowhere, what
no model holds (or an answer below half) for what is in no list, else a candidate that names one of
the true contacts, the shorted rail, or the kind where no contact of that kind is named. `alone`
asks more: the most probable suspect of that candidate must be the true one. Calibration: ten bins
of equal width, weighted mean of |said - was right|, with a bootstrap over cases.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from random import Random
from typing import Any

from burnin.diagnosis.candidates import Candidate
from burnin.diagnosis.claims import groups_of
from burnin.diagnosis.explain import TOLD_FROM
from burnin.diagnosis.posterior import SOMETHING_ELSE, Posterior
from burnin.diagnosis.power.explain_power import explain_power
from burnin.diagnosis.power.explain_power import told as told_power
from burnin.diagnosis.power.faults import PowerCause
from burnin.diagnosis.start.explain_start import StartSuspect
from burnin.diagnosis.start.explain_start import told as told_suspects
from burnin.diagnosis.start.start_faults import StartPlace
from burnin.diagnosis.weighed import weighed
from tests.evaluation.explained_evidence import damaged_of, evidence_of
from tests.evaluation.explained_links import _of_bench, error, interval
from tests.evaluation.explained_power import as_recorded, look_of
from tests.evaluation.score import wilson
from tests.others.explained.draw import cases

Json = dict[str, Any]
_OF_POWER = {PowerCause.SENSE: "sense line", PowerCause.CONTACT: "supply contact"}


@dataclass(frozen=True)
class Answer:
    """The first candidate: its probability, whether it is nothing or what no model holds, all
    names that it tells, and those of its most probable suspect; whether it lies with the bench."""

    said: float
    nothing: bool
    other: bool
    names: frozenset[str]
    first: frozenset[str]
    bench: bool = False


@dataclass(frozen=True)
class Scored:
    """One case: what was true in a word, whether the place came first, alone, and how surely."""

    kind: str
    visibility: str
    said: float
    place: bool
    alone: bool
    named: int
    absent: bool
    traced: bool
    bench: bool
    number: int


def by_link(seen: Json) -> Answer:
    """The explanation of the link alone."""
    return of_link(Posterior(evidence_of(seen), damaged_of(seen)))


def by_whole(seen: Json) -> Answer:
    """Starts and link together, then what the record's ramps tell of the supply."""
    found = weighed(evidence_of(seen), damaged_of(seen))
    first, posterior = found.whole[0], found.link
    if first.other or first.start is None:
        return Answer(first.probability, False, True, frozenset(), frozenset())
    suspects = told_suspects(first.start)
    names = frozenset(name for suspect in suspects for name in _names(suspect))
    best = frozenset(_names(suspects[0])) if suspects else frozenset()
    nothing, bench = first.start.nothing, False
    if first.link is not None and posterior is not None:
        of_link = link_names(posterior, first.link)
        names |= of_link[0]
        best = best or of_link[1]
        bench = first.start.nothing and _of_bench(posterior.members(first.link.number))
        nothing = nothing and first.link.number == posterior.nothing_class
        if first.link.number == SOMETHING_ELSE:
            return Answer(first.probability, False, True, frozenset(), frozenset())
    if nothing and seen["supply"]:
        return _by_power(seen) or Answer(first.probability, True, False, names, best)
    return Answer(first.probability, nothing, False, names, best, bench)


def _by_power(seen: Json) -> Answer | None:
    """What held the power down, by a record of it; None where nothing did."""
    suspects = told_power(explain_power(as_recorded(look_of(seen))))
    if not suspects:
        return None
    first = suspects[0]
    if first.cause is PowerCause.ELSE:
        return Answer(first.probability, False, True, frozenset(), frozenset())
    names = frozenset(first.contacts or (_OF_POWER.get(first.cause, str(first.cause)),))
    return Answer(first.probability, False, False, names, names)


def _names(suspect: StartSuspect) -> tuple[str, ...]:
    """A sense line of a plug that nothing tells of is named by its kind."""
    unnamed = suspect.place is StartPlace.SENSE_LINE and not suspect.points
    return (str(suspect.place),) if unnamed else suspect.points or (str(suspect.place),)


def link_names(posterior: Posterior, first: Candidate) -> tuple[frozenset[str], frozenset[str]]:
    """All names of a candidate of the link, and those of its most probable member."""
    if first.number in (SOMETHING_ELSE, posterior.nothing_class):
        return frozenset(), frozenset()
    members = posterior.members(first.number)
    groups = groups_of(members, first.probability)
    names = frozenset(part for g in groups for name in g.names for part in name.split("+"))
    return names, frozenset(members[0].fault.name.split("+"))


def of_link(posterior: Posterior) -> Answer:
    """The link's first candidate."""
    first = posterior.candidates(1)[0]
    names, best = link_names(posterior, first)
    nothing = first.number == posterior.nothing_class
    bench = _of_bench(posterior.members(first.number))
    return Answer(first.probability, nothing, first.number == SOMETHING_ELSE, names, best, bench)


def score(case: Json, number: int, link_alone: bool = False) -> Scored:
    """Explain one case and compare."""
    seen, truth = case["seen"], case["truth"]
    answer = by_link(seen) if link_alone else by_whole(seen)
    kind = truth["kind"]
    if kind == "sound" or not truth["shows"]:
        place = alone = answer.nothing
    elif kind == "something else":
        place = alone = answer.other or answer.said < TOLD_FROM
    else:
        place = not answer.nothing and bool(_true_names(truth) & answer.names)
        alone = not answer.nothing and bool(_true_names(truth) & answer.first)
    return Scored(
        kind if truth["shows"] else "sound", case["visibility"], answer.said, place, alone,
        len(answer.names), seen["absent"], traced(case), answer.bench, number,
    )  # fmt: skip


def _true_names(truth: Json) -> frozenset[str]:
    """Contacts, or the shorted rail's measuring point; and the kind by itself."""
    points = truth["contacts"] or [truth["effect"]]
    return frozenset([*points, truth["kind"]])


def traced(case: Json) -> bool:
    """Whether what was seen beside volts and power differs from a sound card's: no card, a start
    that failed, a link short of its best, a point open or out of line, a plug that tells less."""
    seen, truth = case["seen"], case["truth"]
    if seen["absent"] or seen["lost"]:
        return True
    if any(not start["came_up"] for start in seen["cold_starts"]):
        return True
    if truth["kind"] == "clock" and any(_poor(look) for look in seen["looks"]):
        return True
    if truth["kind"] == "sense line":
        supply = seen["supply"] or {"sensed_limit_w": None, "steps": []}
        held = any(step["throttle"] for step in supply["steps"])
        if supply["sensed_limit_w"] is not None or held:
            return True
    mine = [r for r in seen["before_power"] if r["point"] in truth["contacts"]]
    return any(_out(reading) for reading in mine)


def _poor(look: Json) -> bool:
    slow = look["width"] != look["most_width"] or look["generation"] != look["most_generation"]
    return slow or any((count or 0) > 30 for count in look["errors"])


def _out(reading: Json) -> bool:
    ohm, volts = reading.get("ohm", 0.0), reading.get("volt_diode", 0.4)
    return ohm is None or volts is None or volts < 0.1 or 1.0 < ohm < 1000.0


def told(scored: Sequence[Scored]) -> Iterator[str]:
    """The table, a line each."""

    def line(name: str, part: Iterable[bool]) -> str:
        hits = list(part)
        if not hits:
            return f"{name:<44} none"
        low, high = wilson(sum(hits), len(hits))
        count = f"{sum(hits):>5}/{len(hits):<5} {sum(hits) / len(hits):.3f}"
        return f"{name:<44} {count} ({low:.3f}-{high:.3f})"

    faults = [s for s in scored if s.kind not in ("sound", "something else")]
    traces = [s for s in faults if s.traced]
    yield line("a fault: place first", (s.place for s in faults))
    yield line("a fault with a trace: place first", (s.place for s in traces))
    yield line("  by one suspect alone", (s.alone for s in traces))
    yield line("no card came up: place first", (s.place for s in faults if s.absent))
    yield line("  by one suspect alone", (s.alone for s in faults if s.absent))
    yield line("sound called sound", (s.place for s in scored if s.kind == "sound"))
    sound = [s for s in scored if s.kind == "sound"]
    yield line("sound called sound, or the bench named", (s.place or s.bench for s in sound))
    yield line("something else", (s.place for s in scored if s.kind == "something else"))
    rest = [s for s in scored if s.traced or s.kind != "supply contact"]
    sure = [s for s in rest if s.said >= 0.99]
    yield line("said 0.99 or more: right", (s.place for s in scored if s.said >= 0.99))
    yield line("  but for contacts that volts alone show", (s.place for s in sure))
    yield line("  or the bench named", (s.place or (s.bench and s.kind == "sound") for s in sure))
    for kind, count in sorted(Counter(s.kind for s in faults).items()):
        mine = [s for s in faults if s.kind == kind]
        yield line(f"  {kind} ({count})", (s.place for s in mine))
        yield line("    with a trace", (s.place for s in mine if s.traced))
        yield line("    with a trace, alone", (s.alone for s in mine if s.traced))
    right = [s.named for s in traces if s.place]
    gone = [s.named for s in traces if s.place and s.absent]
    yield f"names told where right: {sum(right) / max(1, len(right)):.1f} in the mean, where no"
    yield f"  card came up {sum(gone) / max(1, len(gone)):.1f}"
    yield from _calibration("calibration error", scored)
    yield from _calibration("but for contacts that volts alone show", rest)


def _calibration(name: str, scored: Sequence[Scored]) -> Iterator[str]:
    """The error with its interval, and each bin that holds something."""
    low, high = interval(scored, Random(1))
    yield f"{name}: {error(scored):.3f} ({low:.3f}-{high:.3f}) of {len(scored)}"
    for number in range(10):
        part = [s for s in scored if min(9, int(10 * s.said)) == number]
        if part:
            said = sum(s.said for s in part) / len(part)
            was = sum(s.place for s in part) / len(part)
            yield f"  said {said:.3f} right {was:.3f} of {len(part)}"


def main() -> int:
    """Print the table."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--seed", type=int, default=1000)
    asked.add_argument("--count", type=int, default=200)
    asked.add_argument("--link-alone", action="store_true", help="ask the link's model alone")
    asked.add_argument("--wrong", action="store_true", help="print the wrong ones as JSON")
    given = asked.parse_args()
    scored = []
    for number, drawn in enumerate(cases("rail", given.seed, given.count)):
        case = drawn.to_dict()
        one = score(case, number, given.link_alone)
        scored.append(one)
        if given.wrong and not one.place:
            print(json.dumps({"said": one.said, "number": number, "traced": one.traced, **case}))
    for line in told(scored):
        print(line, file=sys.stderr if given.wrong else sys.stdout)
    return 0


if __name__ == "__main__":
    sys.exit(main())
