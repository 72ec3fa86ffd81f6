"""Cases of displays: which output, and whether hot-plug, EDID lines, lanes, cable or monitor.

``outputs`` of a case: ``name``; ``detected``; ``edid`` sound, damaged, none (null: not read);
``wrong_bits`` numbers 0 to 7 (7 sent first) of bits wrong anywhere in the block, with counts
``ones_read_as_zero`` and ``zeros_read_as_one`` (null without a damaged block); ``picture`` clean,
sparkles, none (null: nobody looked); ``swapped_cable`` what another cable changed: detected (all is
well with it), same, or null (not tried). Pins as in the display connectors' list; DisplayPort's
behaviour with lost lanes as drivers train (AMD's fallback), HDMI's TMDS has no fewer lanes.
"""

from __future__ import annotations

import numpy as np

from tests.others.explained.cases import Case, Fault, JsonDict, Seen, Truth
from tests.others.explained.meter import measured

Rng = np.random.Generator
GROUPS = (
    "sound", "hot-plug", "EDID lines", "picture lanes", "cable", "monitor", "connector supply",
    "driver", "something else",
)  # fmt: skip
SHARES = (0.25, 0.16, 0.15, 0.18, 0.09, 0.06, 0.04, 0.03, 0.04)
PINS = {
    "dp": {
        "hot-plug": ("18",), "EDID lines": ("15", "17"), "connector supply": ("20",),
        "picture lanes": ("1", "3", "4", "6", "7", "9", "10", "12"),
    },
    "hdmi": {
        "hot-plug": ("19",), "EDID lines": ("15", "16"), "connector supply": ("18",),
        "picture lanes": ("1", "3", "4", "6", "7", "9", "10", "12"),
    },
}  # fmt: skip


def _healthy(name: str, rng: Rng) -> JsonDict:
    return {
        "name": name,
        "detected": True,
        "edid": "sound",
        "wrong_bits": None,
        "ones_read_as_zero": None,
        "zeros_read_as_one": None,
        "picture": "clean" if rng.random() < 0.85 else None,
        "swapped_cable": None,
    }


def _damaged(out: JsonDict, fewer_ones: float, rng: Rng, fixed_bit: int | None = None) -> None:
    """A block with wrong bits; `fewer_ones` the share of those that were ones."""
    wrong = int(rng.integers(1, 60))
    ones = int(rng.binomial(wrong, fewer_ones))
    bits = [fixed_bit] if fixed_bit is not None else sorted(
        {int(n) for n in rng.integers(0, 8, wrong)}
    )
    out |= {"edid": "damaged", "wrong_bits": bits, "ones_read_as_zero": ones}
    out["zeros_read_as_one"] = wrong - ones


def _hot_plug(out: JsonDict, effect: str, rng: Rng) -> None:
    """Without hot-plug most drivers ask nothing; a few read the EDID when told to."""
    out["detected"] = effect == "resistive" and rng.random() < 0.3
    if not out["detected"]:
        read = rng.random() < 0.3
        out["edid"] = "sound" if read else (None if rng.random() < 0.5 else "none")
        out["picture"] = "none" if rng.random() < 0.9 else None


def _edid_lines(out: JsonDict, effect: str, is_dp: bool, rng: Rng) -> None:
    """Open: no block. Poor: AUX seldom lets damage through, DDC often does (no check on it)."""
    if effect == "open" or rng.random() < (0.6 if is_dp else 0.15):
        out["edid"] = "none"
    else:
        _damaged(out, 0.9 if rng.random() < 0.6 else 0.1, rng)
    if is_dp and effect == "open":
        out["detected"] = rng.random() < 0.7
        out["picture"] = "none" if rng.random() < 0.9 else None
    elif out["edid"] == "none":
        out["picture"] = str(rng.choice(["clean", "none"], p=[0.6, 0.4]))


def _lanes(out: JsonDict, pin: str, effect: str, is_dp: bool, rng: Rng) -> None:
    """Lane 0 of DisplayPort gone: nothing; others: fewer lanes, a lower mode or nothing."""
    first_lane = is_dp and pin in ("1", "3")
    if effect == "resistive":
        out["picture"] = str(rng.choice(["sparkles", "none", "clean"], p=[0.7, 0.2, 0.1]))
    elif first_lane or not is_dp:
        out["picture"] = "none" if rng.random() < 0.85 else "sparkles"
    else:
        out["picture"] = str(rng.choice(["none", "sparkles", "clean"], p=[0.55, 0.2, 0.25]))


def _cable(out: JsonDict, is_dp: bool, rng: Rng) -> None:
    pins = PINS["dp" if is_dp else "hdmi"]
    way = str(rng.choice(["hot-plug", "EDID lines", "picture lanes"], p=[0.3, 0.25, 0.45]))
    effect = "open" if rng.random() < 0.5 else "resistive"
    if way == "hot-plug":
        _hot_plug(out, "open", rng)
    elif way == "EDID lines":
        _edid_lines(out, effect, is_dp, rng)
    else:
        _lanes(out, str(rng.choice(pins["picture lanes"])), effect, is_dp, rng)


def _monitor(out: JsonDict, rng: Rng) -> None:
    """Asleep or dead, or its own EDID memory has lost bits: fixed ones, and the picture is fine."""
    if rng.random() < 0.5:
        _damaged(out, float(rng.random()), rng, fixed_bit=int(rng.integers(8)))
    else:
        out |= {"detected": rng.random() < 0.4, "picture": "none"}
        out["edid"] = "sound" if out["detected"] else "none"


def _all(outputs: list[JsonDict], group: str, word: str, rng: Rng) -> None:
    """Faults that every connector shows, or every one of a kind."""
    for out in outputs:
        is_dp = str(out["name"]).startswith("DP")
        if group == "connector supply" and is_dp:
            continue
        if word == "memory lost behind":
            out["picture"] = "sparkles"
        elif group == "connector supply":
            out |= {"detected": False, "edid": "none", "picture": "none"}
        else:
            out |= {"detected": False, "edid": None, "picture": "none"}


def _names(rng: Rng) -> list[str]:
    dp = int(rng.integers(1, 4))
    hdmi = int(rng.integers(1, 3))
    return [f"DP-{n + 1}" for n in range(dp)] + [f"HDMI-A-{n + 1}" for n in range(hdmi)]


def draw_output_case(rng: Rng) -> Case:
    """One case; a quarter is sound."""
    group = str(rng.choice(GROUPS, p=SHARES))
    outputs = [_healthy(name, rng) for name in _names(rng)]
    out = outputs[int(rng.integers(len(outputs)))]
    name = str(out["name"])
    is_dp = name.startswith("DP")
    kind = "dp" if is_dp else "hdmi"
    effect = "open" if rng.random() < 0.6 else "resistive"
    contacts: tuple[str, ...] = ()
    if group in ("hot-plug", "EDID lines", "picture lanes"):
        pin = str(rng.choice(PINS[kind][group]))
        contacts = (f"{kind}/{pin}",)
        if group == "hot-plug":
            _hot_plug(out, effect, rng)
        elif group == "EDID lines":
            _edid_lines(out, effect, is_dp, rng)
        else:
            _lanes(out, pin, effect, is_dp, rng)
    elif group == "cable":
        _cable(out, is_dp, rng)
    elif group == "monitor":
        _monitor(out, rng)
    elif group in ("connector supply", "driver"):
        contacts = ("hdmi/18",) if group == "connector supply" else ()
        _all(outputs, group, "", rng)
    elif group == "something else":
        effect = "memory lost behind"
        _all(outputs, group, effect, rng)
    everywhere = group in ("connector supply", "driver", "something else", "sound")
    if not everywhere and rng.random() < 0.55:
        out["swapped_cable"] = "detected" if group == "cable" else "same"
    fault = _fault(group, contacts, effect)
    pins = rng.choice(np.arange(1, 19), rng.integers(1, 7), replace=False)
    points = [f"{kind}/{pin}" for pin in pins]
    readings = measured([fault], points, rng) if rng.random() < 0.2 else ()
    details = {"output": None if everywhere else name, "group": group}
    shown = any(
        not (o["detected"] and o["edid"] == "sound" and o["picture"] in ("clean", None))
        for o in outputs
    )
    seen = Seen(outputs=tuple(outputs), before_power=readings)
    return Case("output", None, seen, Truth(fault, None, (), shown, details))


def _fault(group: str, contacts: tuple[str, ...], effect: str) -> Fault:
    if group == "sound":
        return Fault("sound")
    if group == "something else":
        return Fault("something else", effect=effect)
    return Fault("output", contacts, effect=effect if contacts else group)
