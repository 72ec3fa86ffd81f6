"""Practice with a meter: what a contact of the drawn card reads, cold and out of its slot.

A reading is in diode mode from ground to the finger, or on side A past the coupling capacitor;
values are those of an invented chip and scatter a little from contact to contact.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from random import Random

from burnin.connector.contact_map import contacts
from burnin.core.errors import BadInput
from burnin.sim.causes.kinds import CapacitorCause, ContactCause
from burnin.sim.physics.contacts import SOUND, contact_states
from burnin.sim.practise.exercise import drawn
from burnin.sim.practise.refusals import PractiseRefusal

_COLD_C = 23.0
_DIODE_V, _SCATTER_V = 0.39, 0.004
_TEST_CURRENT_MA = 1.0


def meter_text(seed: int, names: Sequence[str]) -> str:
    """One line a contact; raises BadInput for a contact that there is not."""
    causes = [c for c in drawn(seed).causes if isinstance(c, ContactCause | CapacitorCause)]
    fingers = [c for c in causes if isinstance(c, ContactCause) and c.at == "card"]
    springs = [c for c in causes if isinstance(c, ContactCause) and c.at == "slot"]
    parts = [c for c in causes if isinstance(c, CapacitorCause)]
    lines = []
    for typed in names:
        name = typed.strip().upper()
        if name not in contacts():
            raise BadInput(PractiseRefusal.NO_CONTACT(text=typed))
        contact = contacts()[name]
        lines.append(f"{name}: {_finger(seed, name, fingers)}")
        if contact.group == "lane_tx":
            states = contact_states(parts, _COLD_C, 0.0)
            opened = math.isinf(states.get(name, SOUND).ohms)
            told = "no capacitance" if opened else "220 nF, as its neighbours"
            lines.append(f"    across its coupling capacitor: {told}")
        if any(cause.contact == name for cause in springs):
            lines.append("    in the slot: its spring is bent back and does not touch")
    return "\n".join(lines) + "\n"


def _finger(seed: int, name: str, causes: Sequence[ContactCause]) -> str:
    contact = contacts()[name]
    state = contact_states(causes, _COLD_C, 0.0).get(name, SOUND)
    if contact.group == "ground":
        return "open" if math.isinf(state.ohms) else "0.000 V"
    if state.shorted:
        return "0.000 V: short to ground or to a supply"
    if state.joined:
        return "0.000 V to the contact beside it: they touch"
    if contact.lane is None:
        return "open" if math.isinf(state.ohms) else "as its neighbours of the same kind"
    if math.isinf(state.ohms):
        return "open"
    volts = _DIODE_V + Random(f"{seed}/{name}/meter").uniform(-_SCATTER_V, _SCATTER_V)
    volts += state.ohms * _TEST_CURRENT_MA / 1000.0
    return f"{volts:.3f} V"
