"""How the 12 V reaches the card: through contacts that share the current, sag, and burn.

A current divides in proportion to conductance; what a contact turns to heat is I²R (Ohm and
Joule). A sound contact has 20 mΩ and warms by 30 K at its rated current, the rise by which
contacts are rated (EIA-364-70); it opens for good beyond 250 K, where the plastic around it gives
way. The 20 mΩ, the 250 K and the time constant are estimates without source.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from burnin.connector.contact_map import contacts
from burnin.connector.other_connectors import Connector, connectors
from burnin.sim.causes.contacts import PlugCause
from burnin.sim.physics.card_down import CardDown
from burnin.sim.physics.contacts import SOUND, ContactState
from burnin.sim.scenario.model import Scenario

SOUND_OHMS = 0.020
_RATED_RISE_K = 30.0
_BURNS_AT_K = 250.0
_FOLLOWS_S = 20.0
_VOLTS = 12.0
_LOCKOUT_V = 11.04
"""12 V less 8 %, the slot's tolerance (common practice, no source)."""
_SLOT_BUDGET_W, _SLOT_12V_W, _SLOT_SHARE = 75.0, 66.0, 0.16
"""What a slot of 16 lanes gives a card, in all and at 12 V (Wikipedia, "PCI Express", power), and
the share of its power that a card with plugs takes from there (estimate)."""
_SLOT_CONTACT_A = 1.1


class SupplyPath:
    """Contacts that carry one 12 V current together; each is rated at `rating_a`."""

    def __init__(self, names: tuple[str, ...], rating_a: float) -> None:
        self._rating_a = rating_a
        self.rise_k = dict.fromkeys(names, 0.0)
        self.burnt: set[str] = set()

    def advance(
        self, seconds: float, states: Mapping[str, ContactState], current_a: float
    ) -> CardDown | None:
        """Let the contacts warm; why the card's 12 V is gone, None while it holds."""
        conductance = {
            name: 1.0 / (SOUND_OHMS + states.get(name, SOUND).ohms)
            for name in self.rise_k
            if name not in self.burnt and math.isfinite(states.get(name, SOUND).ohms)
        }
        whole = sum(conductance.values())
        if not whole:
            return CardDown.NO_TWELVE_VOLTS
        if _VOLTS - current_a / whole < _LOCKOUT_V:
            return CardDown.TWELVE_VOLTS_SAG
        follow = 1.0 - math.exp(-seconds / _FOLLOWS_S)
        rated_w = self._rating_a**2 * SOUND_OHMS
        for name, share in conductance.items():
            heat_w = (current_a * share / whole) ** 2 / share
            goal_k = _RATED_RISE_K * heat_w / rated_w
            self.rise_k[name] += (goal_k - self.rise_k[name]) * follow
            if self.rise_k[name] > _BURNS_AT_K:
                self.burnt.add(name)
        return None


class Supply:
    """All 12 V paths of a card, and what its plugs' sense lines allow it to draw."""

    def __init__(self, scenario: Scenario) -> None:
        card = scenario.card
        self._causes = [c for c in scenario.causes if isinstance(c, PlugCause)]
        self._plugs = [connectors()[key] for key in card.power_plugs]
        self._edge = SupplyPath(
            tuple(c.name for c in contacts().values() if c.group == "power_12v"), _SLOT_CONTACT_A
        )
        self._paths = [
            SupplyPath(
                tuple(c.name for c in plug.contacts if c.group == "power_12v"),
                plug.contact_rating_a,
            )
            for plug in self._plugs
        ]
        self._build_w = card.max_power_w
        allowed = [self._allowed_w(number) for number in range(len(self._plugs))]
        self.why_no_start: CardDown | None = None
        if not all(allowed):
            self.why_no_start = CardDown.NO_PLUG_SENSED
        self.cap_w = card.max_power_w
        if allowed:
            self.cap_w = min(self.cap_w, _SLOT_BUDGET_W + sum(allowed))

    def _open(self, number: int, uptime_s: float) -> set[str]:
        """Names of the open contacts of a plug."""
        key = self._plugs[number].key
        return {
            f"{key}/{cause.contact}"
            for cause in self._causes
            if cause.plug == number and cause.on_at(uptime_s)
        }

    def _allowed_w(self, number: int) -> float:
        """What a plug's sense lines allow at power-on; 0 where the card sees no plug."""
        plug, opened = self._plugs[number], self._open(number, 0.0)
        return sensed_w(plug, opened)

    def advance(
        self, seconds: float, states: Mapping[str, ContactState], power_w: float, uptime_s: float
    ) -> CardDown | None:
        """Let the contacts follow the load; why the 12 V is gone, None while it holds."""
        slot_w = self._slot_w(power_w)
        if any(contacts()[name].group == "power_12v" for name in states):
            why = self._edge.advance(seconds, states, slot_w / _VOLTS)
            if why is not None:
                return why
        if not self._causes:
            return None
        currents_a = self.plug_currents_a(power_w)
        for number, path in enumerate(self._paths):
            opened = {name: ContactState(math.inf) for name in self._open(number, uptime_s)}
            why = path.advance(seconds, opened, currents_a[number])
            if why is not None:
                return why
        return None

    def _slot_w(self, power_w: float) -> float:
        """What comes through the slot."""
        plugged = bool(self._plugs) or self._build_w > _SLOT_BUDGET_W
        return min(_SLOT_12V_W, power_w * (_SLOT_SHARE if plugged else 1.0))

    def plug_currents_a(self, power_w: float) -> list[float]:
        """What comes through each power plug, A: shared by what each is rated for."""
        budgets = [plug.budget_w for plug in self._plugs]
        left_w = power_w - self._slot_w(power_w)
        return [left_w * budget / sum(budgets) / _VOLTS for budget in budgets]


def sensed_w(plug: Connector, opened: set[str]) -> float:
    """What a card takes a plug for whose supply grounds every sense line, W; 0: no plug."""
    lines = {
        contact.signal: "open" if contact.name in opened else "ground"
        for contact in plug.contacts
        if contact.group == "sense"
    }
    for row in plug.sense:
        if row.lines == lines:
            return row.running_w or 0.0
    return 0.0
