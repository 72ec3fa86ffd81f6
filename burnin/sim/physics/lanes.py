"""Lanes as pairs of contacts: receiver detection, eye margin by generation, trained width.

Sources: receiver detection, and that lanes number from 0 without a gap, are in the PCI Express
Base Specification, 4.2 (read at second hand: MindShare, PCI Express Technology, ch. 14). That an
unlit lane is lost both ways follows from there. Margins and losses are estimates without source,
chosen so that one open leg trains at 2.5 GT/s and fails equalisation from 8 GT/s on.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from functools import cache

from burnin.connector.contact_map import contacts
from burnin.sim.physics.contacts import SOUND, ContactState

WIDTHS = (16, 8, 4, 2, 1)
"""Widths a link may train to, widest first (x12 is no longer in the standard, x32 needs more)."""
GENERATION_GTS = {1: 2.5, 2: 5.0, 3: 8.0, 4: 16.0, 5: 32.0}
"""Line rate of one lane by generation, GT/s."""
EQUALISES_DB = -2.0
"""Margin below which equalisation or lock fails at a generation."""

_MARGIN_DB = {1: 12.0, 2: 9.0, 3: 6.5, 4: 4.5, 5: 3.5}
"""Margin of a sound pair over a bit error ratio of 1e-12."""
_SKEW_DB = {1: 2.0, 2: 4.0, 3: 9.0, 4: 17.0, 5: 26.0}
"""Loss by mode conversion where one leg carries nothing and the other all."""
_GROUND_DB = {1: 0.0, 2: 0.3, 3: 1.2, 4: 2.5, 5: 4.5}
"""Loss for each open ground contact next to the pair."""
_LOOP_OHMS = 100.0
"""50 Ω source and 50 Ω termination of one leg."""
_DETECT_SHARE = 0.35
"""Share of a leg's current below which its slow charging is not seen: no receiver there."""
_Q_AT_1E12 = 7.034
"""Q of a bit error ratio of 1e-12: erfc(Q/√2)/2 = 1e-12."""


@dataclass(frozen=True)
class Pair:
    """One direction of one lane; `legs` are the states of its two contacts.

    `end_that_sees` is where errors on it are counted: ``card`` for what the card receives
    (side B), ``port`` for what it transmits (side A).
    """

    lane: int
    end_that_sees: str
    legs: tuple[ContactState, ContactState]
    open_grounds: int = 0

    def _shares(self) -> tuple[float, float]:
        """Share of the current that each leg still carries."""
        first, second = (
            0.0 if leg.shorted else _LOOP_OHMS / (_LOOP_OHMS + leg.ohms) for leg in self.legs
        )
        return first, second

    def detected(self, receiver_detect: str) -> bool:
        """Whether the transmitter sees a receiver: on each leg, or by the mean of both.

        The transmitter of side B is the port, that of side A the card: each detects through its
        own pair. Legs that touch each other still charge slowly: detected, yet deaf.
        """
        first, second = self._shares()
        seen = min(first, second) if receiver_detect == "each_leg" else (first + second) / 2.0
        return seen >= _DETECT_SHARE

    def loss_db(self, generation: int) -> float:
        """Margin lost to the contacts at a generation; infinite where nothing comes through."""
        if any(leg.joined for leg in self.legs):
            return math.inf
        first, second = self._shares()
        mean = (first + second) / 2.0
        if mean <= 0.0:
            return math.inf
        skew = abs(first - second) / (2.0 * mean)
        amplitude = -20.0 * math.log10(mean)
        grounds = _GROUND_DB[generation] * self.open_grounds
        return amplitude + _SKEW_DB[generation] * skew + grounds


def margin_db(pair: Pair, generation: int, own_db: float = 0.0) -> float:
    """Margin of a pair over 1e-12 at a generation; `own_db` is the lane's own deviation."""
    return _MARGIN_DB[generation] + own_db - pair.loss_db(generation)


def riser_loss_db(at_16_gts_db: float, generation: int) -> float:
    """What a riser takes at a generation: skin effect and dielectric, taken as in proportion to
    frequency to the power 0.8 (estimate)."""
    return at_16_gts_db * math.pow(GENERATION_GTS[generation] / 16.0, 0.8)


def bit_error_ratio(margin: float) -> float:
    """Bit error ratio of a pair by its margin in dB: erfc(Q/√2)/2, Q in proportion to the eye."""
    if margin == -math.inf:
        return 0.5
    q = _Q_AT_1E12 * math.pow(10.0, margin / 20.0)
    return 0.5 * math.erfc(q / math.sqrt(2.0))


def pairs(states: Mapping[str, ContactState], width_lanes: int) -> tuple[Pair, ...]:
    """Both pairs of every lane from 0 to `width_lanes` - 1, with their contacts' states."""
    made = []
    for group, end in (("lane_rx", "card"), ("lane_tx", "port")):
        for lane in range(width_lanes):
            numbers, side = _PLACES[group, lane]
            legs = tuple(states.get(f"{side}{number}", SOUND) for number in numbers)
            beside = (f"{side}{numbers[0] - 1}", f"{side}{numbers[1] + 1}")
            grounds = sum(
                1
                for name in beside
                if contacts()[name].group == "ground" and math.isinf(states.get(name, SOUND).ohms)
            )
            made.append(Pair(lane, end, (legs[0], legs[1]), grounds))
    return tuple(made)


def dead_lanes(
    found: Iterable[Pair], port_detects: str, card_detects: str | None = None
) -> frozenset[int]:
    """Lanes that cannot train at 2.5 GT/s: one direction undetected or without margin.

    `port_detects` is how the port judges what it transmits (side B), `card_detects` how the card
    judges side A; as the port does where it is left out.
    """
    how = {"card": port_detects, "port": card_detects or port_detects}
    return frozenset(
        pair.lane
        for pair in found
        if not pair.detected(how[pair.end_that_sees]) or margin_db(pair, 1) < EQUALISES_DB
    )


def trained_lanes(
    dead: Collection[int], width_lanes: int, lane_reversal: bool
) -> tuple[int, ...]:
    """Physical lanes of the widest link that trains, empty where none does.

    The link takes a permitted width of consecutive lanes from lane 0, or, where a port may turn
    the numbering round, from the far lane inwards.
    """
    for width in WIDTHS:
        if width > width_lanes:
            continue
        blocks = [range(width)]
        if lane_reversal:
            blocks.append(range(width_lanes - width, width_lanes))
        for block in blocks:
            if not any(lane in dead for lane in block):
                return tuple(block)
    return ()


@cache
def _places() -> dict[tuple[str, int], tuple[tuple[int, int], str]]:
    places: dict[tuple[str, int], tuple[tuple[int, int], str]] = {}
    legs: dict[tuple[str, int], list[int]] = {}
    for contact in contacts().values():
        if contact.lane is not None:
            key = (contact.group, contact.lane)
            legs.setdefault(key, []).append(contact.number)
            low, high = min(legs[key]), max(legs[key])
            places[key] = ((low, high), contact.side)
    return places


_PLACES = _places()
