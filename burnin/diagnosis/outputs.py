"""Which fault explains a display output: its hot-plug contact, its data channel, cable or monitor.

Outputs are taken one by one: a contact of one output acts on that output alone. The chances below
are beliefs, stated here once; the posterior follows by Bayes' rule.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from burnin.connector.other_connectors import connectors

_TOLD_FROM = 0.02
_SOUND = "nothing wrong"


@dataclass(frozen=True)
class OutputLook:
    """What the display stage saw: `edid` is sound, damaged or none; None where not asked."""

    name: str
    detected: bool
    edid: str | None = None


@dataclass(frozen=True)
class OutputCause:
    """One cause at an output with its probability."""

    output: str
    what: str
    contacts: tuple[str, ...]
    probability: float


@dataclass(frozen=True)
class _Belief:
    """Weight of a cause, chance that no screen is detected, chances of the EDID once one is."""

    what: str
    groups: tuple[str, ...]
    weight: float
    undetected: float
    sound: float
    damaged: float

    def chance(self, look: OutputLook) -> float:
        """Probability of what was seen, if this is the cause."""
        if not look.detected:
            return self.undetected
        by_edid = {
            "sound": self.sound, "damaged": self.damaged, "none": 1.0 - self.sound - self.damaged
        }
        return (1.0 - self.undetected) * (1.0 if look.edid is None else by_edid[look.edid])


_BELIEFS = (
    _Belief(_SOUND, (), 0.90, 0.002, 0.996, 0.002),
    _Belief("its hot-plug-detect contact", ("hot_plug",), 0.020, 0.97, 0.97, 0.01),
    _Belief("its data channel, open", ("ddc", "aux"), 0.020, 0.03, 0.02, 0.01),
    _Belief("its data channel, poor", ("ddc", "aux"), 0.005, 0.03, 0.15, 0.65),
    _Belief("cable or monitor", (), 0.040, 0.55, 0.40, 0.25),
    _Belief("its part of the card: driver or protection", (), 0.015, 0.60, 0.35, 0.15),
)


def looks_at_outputs(readings: Sequence[Mapping[str, str]]) -> tuple[OutputLook, ...]:
    """What a record's readings say of each output where a monitor was attached."""
    by_name = {row["reading"]: row for row in readings}
    found = []
    for name, row in by_name.items():
        kind, _, output = name.partition(" ")
        if kind != "screen_detected" or row["verdict"] not in ("pass", "fail"):
            continue
        edid_row = by_name.get(f"edid {output}")
        edid = None
        if edid_row is not None:
            edid = "none" if edid_row["verdict"] == "not measured" else edid_row["value"]
        known = edid if edid in ("sound", "damaged", "none") else None
        found.append(OutputLook(output, row["value"] == "connected", known))
    return tuple(found)


def explain_output(look: OutputLook) -> tuple[OutputCause, ...]:
    """Causes of what one output showed, most probable first; empty where nothing is wrong."""
    mass = [belief.weight * belief.chance(look) for belief in _BELIEFS]
    whole = sum(mass)
    found = [
        OutputCause(look.name, belief.what, _contacts(look.name, belief.groups), part / whole)
        for belief, part in zip(_BELIEFS, mass, strict=True)
    ]
    found.sort(key=lambda cause: -cause.probability)
    if found[0].what == _SOUND:
        return ()
    return tuple(cause for cause in found if cause.probability >= _TOLD_FROM)


def _contacts(output: str, groups: tuple[str, ...]) -> tuple[str, ...]:
    """Names of the connector's contacts of these groups."""
    key = {"DP": "dp", "HDMI": "hdmi"}.get(output.split("-")[0])
    if key is None:
        return ()
    return tuple(
        c.name for c in connectors()[key].contacts if any(part in c.group for part in groups)
    )
