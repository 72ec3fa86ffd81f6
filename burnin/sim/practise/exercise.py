"""Practice: a fault is drawn and not told; the technician finds it with the tool's own stages.

The scenario ``practise:7`` runs like any other (``burnin run --simulated practise:7``); its name,
title and every file of its record say no more than that it is for practice.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from random import Random
from typing import Any

from burnin.connector.contact_map import Contact, contacts, twin
from burnin.core.errors import BadInput
from burnin.sim.causes.explanation import cause_kinds
from burnin.sim.causes.kinds import AnyCause, CapacitorCause, ContactCause, OutputCause
from burnin.sim.scenario.model import PRACTISE, Scenario, load_scenario, scenario_from

PROFILE = "desktop_air"
_LANE = re.compile(r"(?:lane )?(\d{1,2})")


@dataclass(frozen=True)
class Judged:
    """What an answer is worth: ``found``, ``near`` or ``not it``, and why."""

    verdict: str
    text: str


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
    return {"kind": "output", "output": output, "contact": contact, "state": "open"}, {}


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


_DRAWS: tuple[Draw, ...] = (
    _open_contact, _open_contact, _poor_contact, _warm_contact, _touching, _capacitor, _memory,
    _output, _heat, _core, _gone, _bench,
)  # fmt: skip


def drawn(seed: int) -> Scenario:
    """The scenario of a practice seed (0 or more); the same again for the same seed."""
    chance = Random(f"practise/{seed}")
    healthy = load_scenario("healthy").model_dump(exclude_none=True)
    cause, bench = chance.choice(_DRAWS)(chance)
    content: dict[str, object] = healthy | {
        "name": f"practise_{seed}",
        "title": "A card to practise on",
        "description": "Something may be wrong; which is for you to find.",
        "bench": healthy["bench"] | bench,
        "causes": [cause] if cause else [],
    }
    return scenario_from(content, f"{PRACTISE}{seed}")


def drawn_by_name(name: str) -> Scenario:
    """The scenario of a name such as ``practise:7``; raises BadInput where no seed follows."""
    digits = name.removeprefix(PRACTISE)
    if not digits.isascii() or not digits.isdigit():
        raise BadInput(f"{name}: after {PRACTISE!r} comes a whole number, such as {PRACTISE}7")
    return drawn(int(digits))


def task_text(seed: int) -> str:
    """What the technician is asked to do."""
    return (
        f"Card number {seed} lies on the bench; the customer says that it does not work right.\n"
        f"1. burnin run --profile {PROFILE} --simulated {PRACTISE}{seed}\n"
        "2. burnin explain RECORD\n"
        f"3. burnin practise --seed {seed} --measure B14,B15 lets you measure contacts\n"
        f"4. burnin practise --seed {seed} --answer WHAT\n"
        "WHAT is a contact (B14), a pair (B14+B15), a lane (lane 0), an output (its name), or:\n"
        f"   {', '.join(answers())}\n"
        f"burnin practise --seed {seed} --show tells the cause.\n"
        "SIMULATED: no card of flesh and solder is involved.\n"
    )


_BENCH_ANSWERS = ("host speed", "slot wiring", "riser")


def answers() -> tuple[str, ...]:
    """Kinds that may be answered, besides contacts, lanes and outputs."""
    return (*(kind.kind for kind in cause_kinds() if kind.kind != "contact"), *_BENCH_ANSWERS)


def cause_text(seed: int) -> str:
    """The cause of a practice seed, told."""
    scenario = drawn(seed)
    for cause in scenario.causes:
        title = next(kind.title for kind in cause_kinds() if kind.kind == cause.kind)
        given = cause.model_dump(exclude_none=True, exclude_defaults=True, exclude={"kind"})
        keys = ", ".join(f"{name} {value}" for name, value in given.items())
        return f"{title}: {keys}."
    return {
        "host speed": f"The host's set-up holds the slot at generation"
        f" {scenario.bench.held_generation}.",
        "slot wiring": f"The slot has {scenario.bench.slot_width_lanes} lanes wired; its port says"
        f" {scenario.bench.port_width_lanes}.",
        "riser": f"A riser takes {scenario.bench.riser_loss_db} dB at 16 GT/s.",
    }[_bench_cause(scenario)]


def _bench_cause(scenario: Scenario) -> str:
    if scenario.bench.held_generation is not None:
        return "host speed"
    return "slot wiring" if scenario.bench.port_width_lanes is not None else "riser"


def judge_answer(seed: int, answer: str) -> Judged:
    """Judge an answer; raises BadInput for one that names nothing that there is."""
    scenario = drawn(seed)
    wanted = _normal(answer)
    truth = cause_text(seed)
    if not scenario.causes:
        found = wanted == _bench_cause(scenario)
        return Judged("found", truth) if found else Judged("not it", "Look again, or let it show.")
    (cause,) = scenario.causes
    exact, near = _right(cause)
    if wanted in exact:
        return Judged("found", truth)
    if wanted in near:
        return Judged("near", "The right lane or part, not yet the very cause.")
    return Judged("not it", "Look again, or let it show.")


def _normal(answer: str) -> str:
    """An answer as it is compared; raises BadInput for one that names nothing."""
    text = " ".join(answer.split())
    lane = _LANE.fullmatch(text.lower())
    if lane is not None and int(lane[1]) < 16:
        return f"lane {int(lane[1])}"
    if text.lower() in answers():
        return text.lower()
    upper = text.upper()
    if upper in {"DP-1", "DP-2", "DP-3", "HDMI-A-1"}:
        return upper
    parts = sorted(upper.split("+"), key=lambda name: (name[:1], name[1:].zfill(2)))
    if all(part in contacts() for part in parts):
        return "+".join(parts)
    raise BadInput(
        f"{answer!r} names nothing: a contact (B54), a pair (B54+B55), a lane (lane 9), an output"
        f" (DP-2), or one of: {', '.join(answers())}"
    )


def _right(cause: AnyCause) -> tuple[set[str], set[str]]:
    """Answers that are right, and those that come near."""
    if isinstance(cause, CapacitorCause):
        pair = [
            c.name for c in contacts().values()
            if c.group == "lane_tx" and c.lane == cause.lane
        ]  # fmt: skip
        return {"coupling_capacitor"}, {f"lane {cause.lane}", *pair, "+".join(pair)}
    if isinstance(cause, ContactCause):
        contact = contacts()[cause.contact]
        other = twin(contact)
        assert other is not None
        ordered = sorted((contact, other), key=lambda c: c.number)
        pair = [c.name for c in ordered]
        exact = {contact.name, "+".join(pair)}
        if cause.state == "short_to_neighbour":
            exact.add(other.name)
        return exact, {f"lane {contact.lane}", *pair}
    if isinstance(cause, OutputCause):
        return {cause.output}, {"output"}
    return {cause.kind}, set()
