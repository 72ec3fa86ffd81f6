"""How faults of display outputs that another hand drew are explained; run it as a module.

Right is a case where output and group come first: every output sound, or the true one with the
true group. Calibration: ten bins of equal width, weighted mean of |said - was right|.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from typing import Any

from burnin.diagnosis.meanings import OutputCause
from burnin.diagnosis.outputs.faults import OutputSuspect, explain_outputs, probability_well
from burnin.diagnosis.outputs.looks import Edid, OtherCable, OutputLook, Picture
from tests.evaluation.score import wilson
from tests.others.explained.draw import cases

_GROUPS = {
    OutputCause.HOT_PLUG: "hot-plug", OutputCause.DATA_OPEN: "EDID lines",
    OutputCause.DATA_POOR: "EDID lines", OutputCause.PICTURE_LANES: "picture lanes",
    OutputCause.CABLE: "cable", OutputCause.MONITOR: "monitor",
    OutputCause.SCREEN_POWER: "connector supply", OutputCause.DRIVER: "driver",
    OutputCause.BEHIND: "something else",
}  # fmt: skip
_SOUND_OHM = 1e5


def looks_of(seen: dict[str, Any]) -> tuple[OutputLook, ...]:
    """The outputs of a drawn case; a connector's contacts were measured at the worst output."""
    found = []
    for told in seen["outputs"]:
        kind = "hdmi" if told["name"].startswith("HDMI") else "dp"
        well = told["detected"] and told["edid"] in ("sound", None)
        well = well and told["picture"] in ("clean", None)
        read = [r for r in seen["before_power"] if r["point"].startswith(kind) and not well]
        is_open = {r["point"] for r in read if None in (r.get("ohm", 0), r.get("volt_diode", 0))}
        cable = {"detected": OtherCable.COMES, "same": OtherCable.STAYS}
        found.append(
            OutputLook(
                told["name"], told["detected"], told["edid"] and Edid(told["edid"]),
                told["picture"] and Picture(told["picture"]), cable.get(told["swapped_cable"]),
                told["wrong_bits"] and len(told["wrong_bits"]), frozenset(is_open),
                frozenset(r["point"] for r in read) - is_open,
            )
        )  # fmt: skip
    return tuple(found)


def as_recorded(look: OutputLook) -> OutputLook:
    """What a record of today holds of it: no sparkles, no wrong bits, no meter, no other cable."""
    picture = None if look.picture is Picture.SPARKLES else look.picture
    # Whether the driver offers the screen's mode is told only beside a sound EDID.
    told = picture if look.detected and look.edid is Edid.SOUND else None
    return OutputLook(look.name, look.detected, look.edid, told)


def _group(suspect: OutputSuspect) -> str:
    return next((g for code, g in _GROUPS.items() if suspect.cause.means(code)), "card's part")


def first_of(suspects: tuple[OutputSuspect, ...], well: float) -> tuple[str | None, str, float]:
    """Output, group and probability of what is told first; kinds of one group add up."""
    if not suspects:
        return None, "sound", well
    by_group: Counter[tuple[str, str]] = Counter()
    for suspect in suspects:
        by_group[suspect.output, _group(suspect)] += suspect.probability  # type: ignore[assignment]
    (output, group), probability = by_group.most_common(1)[0]
    return output, group, float(probability)


def main() -> int:
    """Print right answers by group, and the calibration error."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--seed", type=int, default=1000)
    asked.add_argument("--count", type=int, default=900)
    asked.add_argument("--as-recorded", action="store_true", help="only what a record holds")
    given = asked.parse_args()
    every: Counter[str] = Counter()
    right: Counter[str] = Counter()
    missed: Counter[tuple[str, str]] = Counter()
    bins: list[list[tuple[float, bool]]] = [[] for _ in range(10)]
    for drawn in cases("output", given.seed, given.count):
        case = drawn.to_dict()
        truth = case["truth"]
        looks = looks_of(case["seen"])
        if given.as_recorded:
            looks = tuple(map(as_recorded, looks))
        output, group, said = first_of(explain_outputs(looks), probability_well(looks))
        true = truth["group"] if truth["shows"] else "sound"
        at = truth["output"] if truth["shows"] else None
        hit = group == true and (at is None or output == at)
        every[true] += 1
        right[true] += hit
        if not hit:
            missed[true, group] += 1
        bins[min(int(said * 10), 9)].append((said, hit))
    total, hits = sum(every.values()), sum(right.values())
    for name, count in every.most_common():
        print(f"{name:18} {right[name]}/{count}")
    low, high = wilson(hits, total)
    print(f"all {hits}/{total} = {hits / total:.3f} ({low:.3f}-{high:.3f})")
    faulty, found = total - every["sound"], hits - right["sound"]
    print(f"faulty alone {found}/{faulty} = {found / max(faulty, 1):.3f}")
    error = sum(abs(sum(s for s, _ in b) - sum(h for _, h in b)) for b in bins) / total
    sure = [hit for b in bins for said, hit in b if said >= 0.99]
    print(f"calibration {error:.3f}; at 0.99 or more {sum(sure)}/{len(sure)}")
    for place, one in enumerate(bins):
        if one:
            said, hit = (sum(x) / len(one) for x in zip(*one, strict=True))
            print(f"  {place / 10:.1f}: said {said:.2f}, right {hit:.2f} of {len(one)}")
    print("missed", missed.most_common(12))
    return 0


if __name__ == "__main__":
    sys.exit(main())
