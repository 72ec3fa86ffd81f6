"""Steps at the bench: minutes that a technician takes, and what would be seen.

Minutes are common practice, no source: a card that is in a bench has to come out and be discharged
before a meter or a magnifier, and go in again to be tried. `MINUTES` has that in it, `SET_UP`
is what a further step of the same sort in a row saves. Words that `outcome` returns are in `WORDS`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from tests.others.explained.cases import JsonDict
from tests.others.explained.edge import lane_of
from tests.others.explained.link_faults import ON_BENCH, STRANGE_ON_BENCH

Rng = np.random.Generator
MOST_POINTS = 6

MINUTES = {
    "reseat": 4.0,
    "clean contacts": 7.0,
    "other slot": 6.0,
    "other riser": 8.0,
    "other cable": 2.0,
    "other monitor": 4.0,
    "other supply unit": 12.0,
    "meter one": 4.0,
    "meter group": 7.0,
    "look under magnifier": 5.0,
    "read lane registers": 2.0,
    "host set-up": 4.0,
    "warm run": 10.0,
    "cold start": 3.0,
    "known-good card": 9.0,
}
"""By step; a meter group is two to six points."""

SET_UP = {"meter one": 2.5, "meter group": 2.5, "look under magnifier": 2.5, "cold start": 0.5}
"""Minutes less where the step before left the card as this one needs it (out, or in and off)."""

WORDS = {
    "meter one": ("open", "high", "short", "sound"),
    "meter group": ("open", "high", "short", "sound"),
    "look under magnifier": ("damage", "nothing"),
    "read lane registers": ("bit set", "nothing"),
    "host set-up": ("set low", "as it should be"),
    "warm run": ("fails warm", "fails cold too", "holds"),
    "cold start": ("comes up", "comes up poorly", "does not come up"),
    "known-good card": ("same", "well"),
    **dict.fromkeys(
        ("reseat", "clean contacts", "other slot", "other riser", "other cable", "other monitor",
         "other supply unit"),
        ("well", "better", "same"),
    ),
}  # fmt: skip
"""What each step may show. ``well``: nothing is wrong any more; ``better``: less is."""


@dataclass(frozen=True)
class Step:
    """A step; `points` are contacts for a meter (1 to 6) or the magnifier (any number)."""

    name: str
    points: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.name not in MINUTES:
            raise ValueError(f"no step {self.name}")
        most = {"meter one": 1, "meter group": MOST_POINTS}.get(self.name)
        if most is not None and not 1 <= len(self.points) <= most:
            raise ValueError(f"{self.name} takes 1 to {most} points, not {len(self.points)}")


def meter(points: Sequence[str]) -> Step:
    """A meter on one point or on a group."""
    return Step("meter one" if len(points) == 1 else "meter group", tuple(points))


def minutes(step: Step, before: Step | None = None) -> float:
    """Minutes of a step after another."""
    saved = SET_UP.get(step.name, 0.0) if before and _state(before) == _state(step) else 0.0
    return MINUTES[step.name] - saved


def _state(step: Step) -> str:
    out = ("meter one", "meter group", "look under magnifier", "clean contacts")
    return "card out" if step.name in out else "card in"


BY_METER = ("contact", "gouge", "clock", "reset", "presence", "ground", "supply contact",
            "sense line", "joint", "output")  # fmt: skip
RIGHT = 0.97
"""How often a meter on the right point shows what is wrong with it (an open one)."""


def _faults(truth: JsonDict) -> list[JsonDict]:
    first = [] if truth["kind"] == "sound" else [truth]
    return first + ([truth["second"]] if truth.get("second") else [])


def _by_meter(fault: JsonDict, points: Sequence[str], rng: Rng) -> str:
    """A capacitor is not found from the finger; a joint that opens warm seldom reads open cold."""
    kind, effect = fault["kind"], fault["effect"]
    if kind == "rail short":
        return "short" if effect in points else "sound"
    if kind not in BY_METER or not set(points) & set(fault["contacts"]):
        return "sound"
    if kind == "joint" and fault["warm_only"]:
        return "high" if rng.random() < 0.2 else "sound"
    if effect in ("open", "open both"):
        return "open" if rng.random() < RIGHT else "sound"
    if effect == "short":
        return "short" if rng.random() < RIGHT else "sound"
    return "high" if rng.random() < 0.75 else "sound"


def _meter(step: Step, truth: JsonDict, rng: Rng) -> str:
    seen = [_by_meter(fault, step.points, rng) for fault in _faults(truth)]
    found = next((word for word in ("short", "open", "high") if word in seen), "sound")
    if found == "sound" and rng.random() < 0.005 * len(step.points):
        return "high"
    return found


def _magnifier(step: Step, truth: JsonDict, rng: Rng) -> str:
    """Gouges and shorts are seen, a lifted contact often, a poor one seldom, a joint hardly."""
    chance = 0.01
    for fault in _faults(truth):
        if step.points and not set(step.points) & set(fault["contacts"]):
            continue
        seen = {"gouge": 0.95, "capacitor": 0.3, "joint": 0.05}.get(fault["kind"])
        if fault["kind"] in BY_METER and seen is None:
            seen = {"short": 0.7, "resistive": 0.2}.get(fault["effect"], 0.5)
        chance = max(chance, seen or 0.0)
    return "damage" if rng.random() < chance else "nothing"


def _registers(step: Step, truth: JsonDict, rng: Rng) -> str:
    """The lane's bit after traffic; of `points` only those lanes are asked for."""
    lanes = {where for where in map(lane_of, step.points) if where is not None}
    for fault in _faults(truth):
        errs = fault["effect"] == "resistive" or fault["kind"] == "riser"
        here = not lanes or (fault["side"], fault["lane"]) in lanes
        if errs and here and not fault["warm_only"] and rng.random() < 0.75:
            return "bit set"
    return "bit set" if "stuck bits" in truth["nuisance"] and rng.random() < 0.5 else "nothing"


def _cured(step: str, fault: JsonDict, rng: Rng) -> bool:
    """Whether a swap or a touch takes this fault away, for now at least."""
    kind, effect = fault["kind"], fault["effect"]
    elsewhere = {
        "other slot": ("slot spring", "slot wiring"),
        "other riser": ("riser",),
        "other supply unit": ("supply unit",),
    }.get(step, ())
    if kind in elsewhere:
        return True
    if kind == "output":
        return bool({"other cable": "cable", "other monitor": "monitor"}.get(step) == effect)
    if step == "other slot" and kind == "something else":
        return effect in STRANGE_ON_BENCH and bool(rng.random() < 0.5)
    if step == "reseat":
        chance = 0.9 if kind == "seating" else 0.2 if effect == "resistive" else 0.02
        return bool(kind in ("seating", *BY_METER) and rng.random() < chance)
    if step == "clean contacts":
        chance = 0.9 if (kind, effect) == ("seating", "dirt") else 0.0
        if kind in ("contact", "clock", "reset", "ground", "presence", "supply contact"):
            chance = 0.4 if effect == "resistive" else 0.06
        return bool(rng.random() < max(chance, 0.5 if kind == "seating" else 0.0))
    return False


def _swap(step: Step, truth: JsonDict, rng: Rng) -> str:
    faults = _faults(truth)
    if step.name == "other cable" and truth.get("group") in ("cable", "monitor"):
        return "well" if truth["group"] == "cable" else "same"
    if step.name == "other monitor" and truth.get("group") == "monitor":
        return "well"
    cured = sum(_cured(step.name, fault, rng) for fault in faults)
    return "well" if cured == len(faults) else "better" if cured else "same"


def _known_good(step: Step, truth: JsonDict, rng: Rng) -> str:
    """Another card in this place: what stays is the bench's."""
    on_bench = (*ON_BENCH, "supply unit")
    stays = any(
        fault["kind"] in on_bench
        or (fault["kind"] == "something else" and fault["effect"] in STRANGE_ON_BENCH)
        for fault in _faults(truth)
    )
    stays |= truth.get("group") in ("cable", "monitor")
    return "same" if stays else "well"


def _set_up(step: Step, truth: JsonDict, rng: Rng) -> str:
    low = ("host speed", "power limit", "power saving")
    return "set low" if any(f["kind"] in low for f in _faults(truth)) else "as it should be"


def _warm(step: Step, truth: JsonDict, rng: Rng) -> str:
    faults = _faults(truth)
    if any(not fault["warm_only"] for fault in faults) and truth["shows"]:
        return "fails cold too"
    return "fails warm" if faults and truth["shows"] and rng.random() < 0.9 else "holds"


def _start(step: Step, truth: JsonDict, rng: Rng) -> str:
    """Whether it comes up, and as wide and fast as it should."""
    faults = [fault for fault in _faults(truth) if not fault["warm_only"]]
    if truth.get("absent"):
        return "does not come up" if rng.random() < 0.97 else "comes up poorly"
    if any(fault["kind"] in ("clock", "reset") for fault in faults):
        return "does not come up" if rng.random() < 0.4 else "comes up poorly"
    link = ("contact", "gouge", "capacitor", "slot spring", "riser", "slot wiring", "seating",
            "host speed")  # fmt: skip
    poor = any(fault["kind"] in link and fault["effect"] != "resistive" for fault in faults)
    return "comes up poorly" if poor and rng.random() < 0.9 else "comes up"


_LOOKS: dict[str, Callable[[Step, JsonDict, Rng], str]] = {
    "meter one": _meter,
    "meter group": _meter,
    "look under magnifier": _magnifier,
    "read lane registers": _registers,
    "host set-up": _set_up,
    "warm run": _warm,
    "cold start": _start,
    "known-good card": _known_good,
}


def outcome(truth: JsonDict, step: Step, rng: Rng) -> str:
    """What the step would show, one of its `WORDS`; `truth` is that of a case's JSON."""
    return _LOOKS.get(step.name, _swap)(step, truth, rng)
