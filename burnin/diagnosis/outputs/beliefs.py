"""What each fault of a display output shows: weights and chances, stated here once.

Beliefs (what each line of a connector is for: DisplayPort and HDMI connector assignments, KiCad
symbols; how often it breaks and how it shows: estimate).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from burnin.connector.other_connectors import connectors
from burnin.core.meaning import Cause
from burnin.diagnosis.meanings import OutputCause
from burnin.diagnosis.outputs.looks import Edid, OtherCable, OutputLook, Picture

_CONNECTORS = {"DP": "dp", "HDMI": "hdmi"}
"""Connector by the first part of an output's name as the kernel gives it (``HDMI-A-1``)."""
_LEAST = 0.002
"""Chance of what a cause does not bring about by itself: a slip, a loose plug."""
_PROVEN = 0.1
"""Of faults of monitors and cables, how many come about after these were shown to be good."""


def contacts_of(output: str, groups: frozenset[str]) -> tuple[str, ...]:
    """Names of the connector's contacts of these groups; none for a connector not known here."""
    key = _CONNECTORS.get(output.partition("-")[0])
    if key is None:
        return ()
    return tuple(c.name for c in connectors()[key].contacts if c.group in groups)


def is_contact_of(output: str, number: str) -> str | None:
    """The name of a contact of an output's connector, ``dp/18`` of ``18`` or ``dp/18``, or None."""
    key = _CONNECTORS.get(output.partition("-")[0])
    if key is None:
        return None
    name = f"{key}/{number.removeprefix(f'{key}/')}"
    return next((c.name for c in connectors()[key].contacts if c.name == name), None)


@dataclass(frozen=True)
class Belief:
    """A cause: its weight, what is seen of an output that has it, the contacts it may lie at.

    `edid`, `picture`: chances once a screen is detected; `other_cable`: chance that another cable
    mends it; `few_bits`: chance that a damaged EDID is wrong in one or two bit places only;
    `loses`: chance that a screen which is detected is lost for moments; `of_bench`: it is no fault
    of the card, and rare where monitor and cable were shown to be good.
    """

    cause: Cause
    weight: float
    undetected: float
    edid: Mapping[Edid, float]
    picture: Mapping[Picture, float]
    other_cable: float = 0.02
    few_bits: float = 0.3
    groups: frozenset[str] = field(default_factory=frozenset)
    loses: float = 0.03
    of_bench: bool = False

    def chance(self, look: OutputLook) -> float:
        """Probability of what was seen at an output that has this."""
        if not look.detected:
            found = self.undetected
            # Where no screen is detected hardly any has a picture, whatever the cause.
            found *= 1.0 if look.picture is not Picture.CLEAN else _LEAST
            if look.edid is Edid.DAMAGED:
                found *= _LEAST
            elif look.edid is not None:
                sound = self.edid.get(Edid.SOUND, _LEAST)
                found *= sound if look.edid is Edid.SOUND else 1.0 - 0.5 * sound
        else:
            found = 1.0 - self.undetected
            if look.edid is not None:
                found *= max(self.edid.get(look.edid, 0.0), _LEAST)
            if look.picture is not None:
                found *= max(self.picture.get(look.picture, 0.0), _LEAST)
            if look.edid is Edid.DAMAGED and look.wrong_bits is not None:
                found *= self.few_bits if look.wrong_bits <= 2 else 1.0 - self.few_bits
            if look.lost is not None:
                found *= self.loses if look.lost else 1.0 - self.loses
        if self.of_bench and look.proven:
            found *= _PROVEN
        if look.other_cable is not None:
            mends = self.other_cable
            found *= mends if look.other_cable is OtherCable.COMES else 1.0 - mends
        return found * self._by_meter(look)

    def _by_meter(self, look: OutputLook) -> float:
        """Chance of the meter's words: half of what is broken measures so without power."""
        own = contacts_of(look.name, self.groups)
        if not own:
            return 0.01 ** len(look.open_contacts)
        found = 1.0
        for name in look.open_contacts:
            found *= 0.5 / len(own) if name in own else 0.01
        measured = sum(name in own for name in look.sound_contacts)
        return found * (1.0 - 0.6 * measured / len(own))


_SOUND, _CLEAN = {Edid.SOUND: 0.99}, {Picture.CLEAN: 0.99}
WELL = Belief(OutputCause.NOTHING(), 0.86, _LEAST, _SOUND, _CLEAN, 0.1, loses=0.001)
OWN = (
    WELL,
    Belief(
        OutputCause.HOT_PLUG(), 0.036, 0.99,
        {Edid.SOUND: 0.45, Edid.NONE: 0.5}, {Picture.CLEAN: 0.95},
        groups=frozenset({"hot_plug"}),
    ),
    Belief(
        OutputCause.HOT_PLUG(), 0.014, 0.6,
        {Edid.SOUND: 0.95}, {Picture.CLEAN: 0.95},
        groups=frozenset({"hot_plug"}), loses=0.9,
    ),
    Belief(
        OutputCause.DATA_OPEN(), 0.022, 0.22,
        {Edid.NONE: 0.97}, {Picture.CLEAN: 0.4, Picture.NONE: 0.6},
        groups=frozenset({"ddc", "ddc_ground", "aux"}),
    ),
    Belief(
        OutputCause.DATA_POOR(), 0.014, 0.02, {Edid.NONE: 0.32, Edid.DAMAGED: 0.66},
        {Picture.CLEAN: 0.9, Picture.NONE: 0.1}, few_bits=0.12,
        groups=frozenset({"ddc", "ddc_ground", "aux"}),
    ),
    Belief(
        OutputCause.PICTURE_LANES(), 0.040, 0.004, {Edid.SOUND: 0.99},
        {Picture.CLEAN: 0.08, Picture.SPARKLES: 0.38, Picture.NONE: 0.54},
        groups=frozenset({"main_lane", "main_clock"}),
    ),
    Belief(
        OutputCause.CABLE(), 0.018, 0.26,
        {Edid.SOUND: 0.75, Edid.NONE: 0.17, Edid.DAMAGED: 0.08},
        {Picture.CLEAN: 0.17, Picture.SPARKLES: 0.38, Picture.NONE: 0.45}, 0.985, 0.15,
        loses=0.15, of_bench=True,
    ),
    Belief(
        OutputCause.MONITOR(), 0.012, 0.18, {Edid.SOUND: 0.22, Edid.DAMAGED: 0.78},
        {Picture.CLEAN: 0.78, Picture.NONE: 0.22}, 0.02, 0.97,
        loses=0.06, of_bench=True,
    ),
    Belief(
        OutputCause.PROTECTION(), 0.002, 0.6,
        {Edid.SOUND: 0.4, Edid.NONE: 0.4, Edid.DAMAGED: 0.2},
        {Picture.CLEAN: 0.3, Picture.SPARKLES: 0.2, Picture.NONE: 0.5},
    ),
)  # fmt: skip


def _driver(look: OutputLook) -> float:
    asked = {None: 1.0, Edid.NONE: 0.1}.get(look.edid, _LEAST)
    return asked if not look.detected else _LEAST


def _screen_power(look: OutputLook) -> float:
    """HDMI's 5 V wakes the screen's EDID and with it its hot-plug line (HDMI 1.4, from memory)."""
    if not look.name.startswith("HDMI"):
        return WELL.chance(look)
    dark = not look.detected and look.edid in (None, Edid.NONE)
    return (1.0 if look.edid is Edid.NONE else 0.3) if dark else _LEAST


def _behind(look: OutputLook) -> float:
    return 0.97 if look.detected and look.picture is Picture.SPARKLES else _LEAST


SHARED = (
    (OutputCause.DRIVER(), 0.03, _driver, frozenset[str]()),
    (OutputCause.SCREEN_POWER(), 0.02, _screen_power, frozenset({"screen_power"})),
    (OutputCause.BEHIND(), 0.02, _behind, frozenset[str]()),
)
