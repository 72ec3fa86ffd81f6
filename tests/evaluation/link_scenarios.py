"""Random link scenarios with zero, one or two faults, and the ticket that would come with them.

Shares are those of a shop that repairs edge connectors, as the author of the evaluation sees it;
the isolation's own prior is another belief and is not read here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from random import Random
from typing import Any

from burnin.connector.contact_map import Contact, contacts, on_connector, twin
from burnin.sim.scenario.model import Scenario, scenario_from
from tests.sim.machines import content_of

FAULTS = (
    ("contact", 0.66),
    ("pair", 0.09),
    ("capacitor", 0.05),
    ("slot contact", 0.05),
    ("riser", 0.03),
    ("slot wiring", 0.04),
    ("host speed", 0.03),
    ("power saving", 0.02),
    ("power path", 0.01),
    ("joint", 0.02),
)


@dataclass(frozen=True)
class Case:
    """A scenario, the names of its faults as hypotheses are named, and the ticket's contacts."""

    scenario: Scenario
    truth: tuple[str, ...]
    ticket: tuple[str, ...]


def draw_case(chance: Random) -> Case:
    """One case; the same again for the same state of `chance`."""
    content = content_of("healthy_x8" if chance.random() < 0.15 else "healthy")
    card, bench = content["card"], content.setdefault("bench", {})
    card["generation"] = chance.choices([3, 4, 5], [0.25, 0.55, 0.20])[0]
    bench["slot_generation"] = card["generation"]
    bench["lane_reversal"] = chance.random() < 0.10
    bench["needs_presence"] = chance.random() < 0.10
    for part in (bench, card):
        part["receiver_detect"] = "each_leg" if chance.random() < 0.65 else "common_mode"
    bench["powered_for_s"] = 2.0
    content["causes"] = []
    width = int(card.get("width_lanes", 16))
    count = chance.choices([0, 1, 2], [0.35, 0.45, 0.20])[0]
    truth: list[str] = []
    while len(truth) < count:
        kind = chance.choices([k for k, _ in FAULTS], [w for _, w in FAULTS])[0]
        name = _add(kind, content, width, chance)
        if name and name not in truth:
            truth.append(name)
    scenario = scenario_from(content, "drawn")
    return Case(scenario, tuple(truth), _ticket(truth, width, chance))


def _edge(width: int) -> list[Contact]:
    return [c for c in contacts().values() if on_connector(c, width)]


def _ticket(truth: list[str], width: int, chance: Random) -> tuple[str, ...]:
    """In every other case the damage that the technician saw, the truth mostly among it."""
    if chance.random() < 0.5:
        return ()
    listed = {c.name for c in chance.sample(_edge(width), chance.randint(1, 4))}
    for name in truth:
        if name.split("+")[0] in contacts() and chance.random() < 0.8:
            listed.update(name.split("+"))
    return tuple(sorted(listed))


def _add(kind: str, content: dict[str, Any], width: int, chance: Random) -> str:
    """Add a fault's causes; its name, empty where the card cannot have it."""
    causes, bench = content["causes"], content["bench"]
    legs = [c for c in _edge(width) if c.lane is not None]
    if kind == "contact":
        contact = chance.choice(_edge(width))
        causes.append(_bad(contact.name, chance))
        return contact.name
    if kind == "slot contact":
        contact = chance.choice(legs)
        causes.append(_bad(contact.name, chance) | {"at": "slot"})
        return f"slot at {contact.name}"
    if kind == "pair":
        first = chance.choice(legs)
        second = twin(first)
        assert second is not None
        names = sorted((first.name, second.name), key=lambda name: int(name[1:]))
        causes += [{"kind": "contact", "contact": n, "state": "open"} for n in names]
        return "+".join(names)
    if kind == "capacitor":
        contact = chance.choice([c for c in legs if c.side == "A"])
        causes.append(
            {"kind": "coupling_capacitor", "lane": contact.lane, "leg": contact.polarity,
             "state": "open"}
        )
        return f"capacitor of {contact.name}"
    if kind == "joint":
        causes.append({"kind": "bus", "state": "falls_off", "after_load_s": chance.uniform(1, 300)})
        return kind
    if kind == "power path":
        names = ["A2", "A3", "B1", "B2", "B3"]
        kept = chance.choice(names)
        causes += [
            {"kind": "contact", "contact": n, "state": "open"} for n in names if n != kept
        ]
        causes.append({"kind": "contact", "contact": kept, "state": "resistive", "ohms": 1.5})
        return kind
    return _of_the_bench(kind, content, bench, width, chance)


def _of_the_bench(
    kind: str, content: dict[str, Any], bench: dict[str, Any], width: int, chance: Random
) -> str:
    most = int(content["card"]["generation"])
    if kind == "riser":
        bench["riser_loss_db"] = chance.uniform(3.0, 9.0)
    elif kind == "slot wiring":
        bench["port_width_lanes"] = 16
        bench["slot_width_lanes"] = chance.choice([w for w in (8, 4, 1) if w < width])
    elif kind == "host speed":
        bench["held_generation"] = chance.randint(1, most - 1)
    else:
        bench["power_saving"] = "keeps_low"
    return kind


def _bad(name: str, chance: Random) -> dict[str, Any]:
    """A contact's fault: open, resistive or shorted; always, warm only, or at times."""
    cause: dict[str, Any] = {"kind": "contact", "contact": name}
    state = chance.choices(["open", "resistive", "short_to_ground"], [0.5, 0.4, 0.1])[0]
    if contacts()[name].group == "ground":
        state = "open"
    cause["state"] = state
    if state == "resistive":
        cause["ohms"] = round(math.exp(chance.uniform(math.log(15.0), math.log(400.0))), 1)
    comes = chance.random()
    if comes < 0.12:
        cause["above_board_c"] = chance.uniform(32.0, 45.0)
    elif comes < 0.15:
        cause |= {"every_s": chance.uniform(3.0, 30.0), "for_s": 0.3}
    return cause
