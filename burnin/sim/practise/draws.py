"""What may be drawn for practice: a cause, or what the bench is like, out of a seed's chance."""

from __future__ import annotations

from collections.abc import Callable
from random import Random
from typing import Any

from burnin.connector.contact_map import Contact, contacts, twin

Draw = Callable[[Random], tuple[dict[str, Any], dict[str, Any]]]
"""Draws a cause and what the bench is like for it; an empty cause: the bench itself is it."""


def _leg(chance: Random) -> Contact:
    """A lane contact; not of lane 0, without which no card comes up to be tested."""
    return chance.choice([c for c in contacts().values() if c.lane])


def _open_contact(chance: Random) -> tuple[dict[str, Any], dict[str, Any]]:
    at = chance.choice(["card", "card", "card", "slot"])
    return {"kind": "contact", "contact": _leg(chance).name, "state": "open", "at": at}, {}


def _poor_contact(chance: Random) -> tuple[dict[str, Any], dict[str, Any]]:
    ohms = round(chance.uniform(60.0, 120.0), 1)
    leg = _leg(chance).name
    return {"kind": "contact", "contact": leg, "state": "resistive", "ohms": ohms}, {}


def _warm_contact(chance: Random) -> tuple[dict[str, Any], dict[str, Any]]:
    cause, bench = _open_contact(chance)
    return cause | {"above_board_c": round(chance.uniform(33.0, 38.0), 1)}, bench


def _touching(chance: Random) -> tuple[dict[str, Any], dict[str, Any]]:
    leg = _leg(chance)
    other = twin(leg)
    assert other is not None
    return {
        "kind": "contact", "contact": leg.name, "state": "short_to_neighbour",
        "neighbour": other.name,
    }, {}  # fmt: skip


def _capacitor(chance: Random) -> tuple[dict[str, Any], dict[str, Any]]:
    leg = chance.choice("pn")
    lane = chance.randrange(1, 16)
    return {"kind": "coupling_capacitor", "lane": lane, "leg": leg, "state": "open"}, {}


def _memory(chance: Random) -> tuple[dict[str, Any], dict[str, Any]]:
    chip, bit, stuck_at = chance.randrange(12), chance.randrange(32), chance.randrange(2)
    match chance.randrange(3):
        case 0:
            address = 4 * chance.randrange(1 << 31)
            return {
                "kind": "memory_cell", "address": address, "bit": bit, "stuck_at": stuck_at
            }, {}
        case 1:
            return {"kind": "memory_line", "chip": chip, "bit": bit, "stuck_at": stuck_at}, {}
        case _:
            return {"kind": "memory_chip", "chip": chip, "rests_at": stuck_at}, {}


def _output(chance: Random) -> tuple[dict[str, Any], dict[str, Any]]:
    output = chance.choice(["DP-1", "DP-2", "DP-3", "HDMI-A-1"])
    contact = chance.choice(["hot_plug_detect", "ddc"])
    cause = {"kind": "output", "output": output, "contact": contact, "state": "open"}
    return cause, {"bench_proven": True}


def _heat(chance: Random) -> tuple[dict[str, Any], dict[str, Any]]:
    match chance.randrange(3):
        case 0:
            return {"kind": "fan", "state": "stalls", "after_load_s": chance.uniform(20, 90)}, {}
        case 1:
            return {"kind": "mount", "resistance_factor": round(chance.uniform(4, 6), 1)}, {}
        case _:
            return {"kind": "paste", "hotspot_factor": round(chance.uniform(3.2, 4.0), 1)}, {}


def _core(chance: Random) -> tuple[dict[str, Any], dict[str, Any]]:
    return {"kind": "compute", "bit": chance.randrange(32), "one_in": 1e7}, {}


def _gone(chance: Random) -> tuple[dict[str, Any], dict[str, Any]]:
    kind, state = chance.choice([("bus", "falls_off"), ("driver", "hangs")])
    return {"kind": kind, "state": state, "after_load_s": chance.uniform(20, 90)}, {}


def _bench(chance: Random) -> tuple[dict[str, Any], dict[str, Any]]:
    made: list[dict[str, Any]] = [
        {"held_generation": chance.choice([1, 2, 3])},
        {"slot_width_lanes": 8, "port_width_lanes": 16},
        {"riser_loss_db": round(chance.uniform(7.5, 9.5), 1)},
    ]
    return {}, chance.choice(made)


DRAWS: tuple[Draw, ...] = (
    _open_contact, _open_contact, _poor_contact, _warm_contact, _touching, _capacitor, _memory,
    _output, _heat, _core, _gone, _bench,
)  # fmt: skip
