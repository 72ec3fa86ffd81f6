"""What a technician at practice is asked, may answer, and how near an answer comes."""

from __future__ import annotations

import re
from dataclasses import dataclass

from burnin.connector.contact_map import contacts, twin
from burnin.core.errors import BadInput
from burnin.sim.causes.explanation import cause_kinds
from burnin.sim.causes.kinds import AnyCause, CapacitorCause, ContactCause, OutputCause
from burnin.sim.practise.exercise import PRACTISE, PROFILE, drawn
from burnin.sim.practise.refusals import PractiseRefusal
from burnin.sim.scenario.model import Scenario

_LANE = re.compile(r"(?:lane )?(\d{1,2})")


@dataclass(frozen=True)
class Judged:
    """What an answer is worth: ``found``, ``near`` or ``not it``, and why."""

    verdict: str
    text: str


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
    raise BadInput(PractiseRefusal.NAMES_NOTHING(text=answer, there=tuple(answers())))


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
