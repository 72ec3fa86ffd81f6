"""How causes of power faults that another hand drew are explained; run it as a module."""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from dataclasses import replace
from typing import Any

from burnin.diagnosis.power.explain_power import PowerSuspect, explain_power
from burnin.diagnosis.power.look import KnownGood, PowerLook, PowerStep
from tests.evaluation.score import wilson
from tests.others.explained.draw import cases

SURE = 0.99


def look_of(seen: dict[str, Any]) -> PowerLook:
    """A drawn case of power as a record would tell it."""
    supply = seen["supply"] or {}
    good = supply.get("known_good") or {}
    ticket = seen["ticket"]
    return PowerLook(
        plug=supply.get("plug"),
        limit_w=supply.get("limit_w"),
        default_limit_w=supply.get("default_limit_w"),
        sensed_limit_w=supply.get("sensed_limit_w"),
        steps=tuple(
            PowerStep(**{**step, "throttle": tuple(step["throttle"])})
            for step in supply.get("steps", ())
        ),
        known_good_plug=KnownGood(*good["plug_mohm"]) if good else None,
        known_good_slot=KnownGood(*good["slot_mohm"]) if good else None,
        meter_ohm={r["point"]: r["ohm"] for r in seen["before_power"] if "ohm" in r},
        damaged=tuple(ticket["damaged"]),
        repaired=tuple(ticket["repaired"]),
        absent=seen["absent"],
    )


def as_recorded(look: PowerLook) -> PowerLook:
    """What a record and its ticket hold of it: limits, power asked and reached, words of the
    driver, ohms at the edge and at the 12 V rail."""
    return PowerLook(
        limit_w=look.limit_w,
        default_limit_w=look.default_limit_w,
        meter_ohm={point: ohm for point, ohm in look.meter_ohm.items() if "/" not in point},
        damaged=look.damaged,
        repaired=look.repaired,
        steps=tuple(replace(s, plug_v=None, slot_v=None, slot_w=None) for s in look.steps),
    )


def true_cause(truth: dict[str, Any]) -> str:
    """The cause as the explanation would name it; what does not show is sound."""
    return str(truth["kind"]) if truth["shows"] else "sound"


def contact_right(suspects: tuple[PowerSuspect, ...], truth: dict[str, Any]) -> bool:
    """Whether the first contact of the first suspect is one of the truth's."""
    return bool(suspects[0].contacts) and suspects[0].contacts[0] in truth["contacts"]


def main() -> int:
    """Print right answers by cause, right contacts, and how far the probabilities hold."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--seed", type=int, default=1000)
    asked.add_argument("--count", type=int, default=400)
    asked.add_argument("--as-recorded", action="store_true", help="only what a record holds")
    given = asked.parse_args()
    right: Counter[str] = Counter()
    every: Counter[str] = Counter()
    missed: Counter[tuple[str, str]] = Counter()
    contacts, contacts_metered = [0, 0], [0, 0]
    sure = [0, 0]
    bins: list[list[tuple[float, bool]]] = [[] for _ in range(10)]
    for drawn in cases("power", given.seed, given.count):
        case = drawn.to_dict()
        truth = case["truth"]
        look = look_of(case["seen"])
        suspects = explain_power(as_recorded(look) if given.as_recorded else look)
        first, cause = suspects[0], true_cause(truth)
        hit = first.cause.value == cause
        every[cause] += 1
        right[cause] += hit
        if not hit:
            missed[cause, first.cause.value] += 1
        if cause != "sound" and truth["contacts"]:
            metered = any(r["point"] in truth["contacts"] for r in case["seen"]["before_power"])
            for counted in (contacts, contacts_metered) if metered else (contacts,):
                counted[0] += contact_right(suspects, truth)
                counted[1] += 1
        if first.probability >= SURE:
            sure[0] += hit
            sure[1] += 1
        bins[min(9, int(10 * first.probability))].append((first.probability, hit))
    for cause in sorted(every):
        print(f"{cause:<18} {_share(right[cause], every[cause])}")
    count = sum(every.values())
    print(f"right cause first  {_share(sum(right.values()), count)}")
    print(f"right contact      {_share(*contacts)}")
    print(f"  of those metered {_share(*contacts_metered)}")
    print(f"said with {SURE}     {_share(*sure)}")
    error = sum(abs(sum(p - h for p, h in part)) for part in bins) / count
    print(f"calibration error  {error:.3f}")
    print("missed most:", ", ".join(f"{a} as {b} {n}" for (a, b), n in missed.most_common(8)))
    return 0


def _share(hits: int, count: int) -> str:
    if not count:
        return "none"
    low, high = wilson(hits, count)
    return f"{hits}/{count} = {hits / count:.3f} ({low:.3f}-{high:.3f})"


if __name__ == "__main__":
    sys.exit(main())
