"""Which fault explains a display output: its hot-plug contact, its data channel, cable or monitor.

Outputs are taken one by one: a contact of one output acts on that output alone. The chances below
are beliefs, stated here once; the posterior follows by Bayes' rule.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from burnin.connector.other_connectors import connectors
from burnin.core.meaning import Cause
from burnin.core.reading import Reading, Verdict, reading_subject
from burnin.diagnosis.meanings import OutputCause

_TOLD_FROM = 0.02
_CONNECTORS = {"DP": "dp", "HDMI": "hdmi"}
"""Connector by the first part of an output's name as the kernel gives it (``HDMI-A-1``)."""


class Edid(StrEnum):
    """How an EDID arrived."""

    SOUND = "sound"
    DAMAGED = "damaged"
    NONE = "none"


@dataclass(frozen=True)
class OutputLook:
    """What the display stage saw; `edid` is None where nobody asked for it."""

    name: str
    detected: bool
    edid: Edid | None = None


@dataclass(frozen=True)
class OutputSuspect:
    """One cause at an output with its probability, and the connector's contacts that it concerns.

    `contacts` are named as in `burnin.connector.other_connectors`.
    """

    output: str
    cause: Cause
    contacts: tuple[str, ...]
    probability: float


@dataclass(frozen=True)
class _Belief:
    """Weight of a cause, chance that no screen is detected, chances of the EDID once one is."""

    cause: Cause
    groups: frozenset[str]
    weight: float
    undetected: float
    sound: float
    damaged: float

    def chance(self, look: OutputLook) -> float:
        """Probability of what was seen, if this is the cause."""
        if not look.detected:
            return self.undetected
        by_edid = {
            Edid.SOUND: self.sound,
            Edid.DAMAGED: self.damaged,
            Edid.NONE: 1.0 - self.sound - self.damaged,
        }
        return (1.0 - self.undetected) * (1.0 if look.edid is None else by_edid[look.edid])


_ALONE: frozenset[str] = frozenset()
_DATA_CHANNEL = frozenset({"ddc", "ddc_ground", "aux"})
_BELIEFS = (
    _Belief(OutputCause.NOTHING(), _ALONE, 0.90, 0.002, 0.996, 0.002),
    _Belief(OutputCause.HOT_PLUG(), frozenset({"hot_plug"}), 0.020, 0.97, 0.97, 0.01),
    _Belief(OutputCause.DATA_OPEN(), _DATA_CHANNEL, 0.020, 0.03, 0.02, 0.01),
    _Belief(OutputCause.DATA_POOR(), _DATA_CHANNEL, 0.005, 0.03, 0.15, 0.65),
    _Belief(OutputCause.CABLE_OR_MONITOR(), _ALONE, 0.040, 0.55, 0.40, 0.25),
    _Belief(OutputCause.DRIVER_OR_PROTECTION(), _ALONE, 0.015, 0.60, 0.35, 0.15),
)


def looks_at_outputs(readings: Sequence[Reading]) -> tuple[OutputLook, ...]:
    """What a record's readings say of each output where a monitor was attached."""
    by_name = {reading.name: reading for reading in readings}
    found = []
    for name, reading in by_name.items():
        head, output = reading_subject(name)
        if head != "screen_detected" or reading.verdict not in (Verdict.PASS, Verdict.FAIL):
            continue
        edid = _edid(by_name.get(f"edid {output}"))
        found.append(OutputLook(output, reading.value == "connected", edid))
    return tuple(found)


def _edid(reading: Reading | None) -> Edid | None:
    if reading is None:
        return None
    if reading.verdict is Verdict.NOT_MEASURED:
        return Edid.NONE
    return next((edid for edid in Edid if edid.value == reading.value), None)


def explain_output(look: OutputLook) -> tuple[OutputSuspect, ...]:
    """Causes of what one output showed, most probable first; empty where nothing is wrong."""
    mass = [belief.weight * belief.chance(look) for belief in _BELIEFS]
    whole = sum(mass)
    found = [
        OutputSuspect(look.name, belief.cause, _contacts(look.name, belief.groups), part / whole)
        for belief, part in zip(_BELIEFS, mass, strict=True)
    ]
    found.sort(key=lambda suspect: -suspect.probability)
    if found[0].cause.means(OutputCause.NOTHING):
        return ()
    return tuple(suspect for suspect in found if suspect.probability >= _TOLD_FROM)


def _contacts(output: str, groups: frozenset[str]) -> tuple[str, ...]:
    """Names of the connector's contacts of these groups."""
    key = _CONNECTORS.get(output.partition("-")[0])
    if key is None:
        return ()
    return tuple(c.name for c in connectors()[key].contacts if c.group in groups)
