"""Carries out one case and reads which parties its run names, most likely first."""

import json
import shlex
import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from burnin.connector.contact_map import KEY_AFTER
from tests.others.word_holds.run_cases import Case as Steps
from tests.others.word_holds.run_cases import Outcome, broken, carry_out, command

HERE = Path(__file__).parent
PARTIES = ("card", "slot", "root_port", "riser", "supply", "monitor", "sensor", "driver", "set_up",
           "room")
ALSO_CALLED = {"cable": "monitor"}      # one party: monitor and cable
IN_OTHER_WORDS = {"link_lanes_of_slot": "slot", "link_speed_of_slot": "slot",
                  "link_lanes_shared": "slot", "link_speed_held": "set_up",
                  "link_rate_on_the_way": "root_port",
                  "link_lanes_of_card": "card", "link_speed_of_card": "card",
                  "thermal_ramp_sense_lines": "supply", "thermal_ramp_supply_contacts": "supply",
                  "thermal_ramp_power_plug": "supply", "thermal_ramp_driver_limit": "driver"}
DEMANDS: dict[str, tuple[int, ...]] = {   # exit codes that the rules allow
    "fail": (1,), "fail or stopped": (1, 3), "not pass": (1, 3, 4), "not fail": (0, 3, 4),
    "not pass, not fail": (3, 4)}
OUTPUTS = "".join(f'\n[[card.outputs]]\nname = "{name}"\nmonitor = "Lumora 27"\n'
                  for name in ("DP-1", "DP-2", "DP-3", "HDMI-A-1"))


@dataclass(frozen=True)
class Case:
    """A bench with one fault, and what is seen of it."""

    symptom: str
    id: str
    party: str               # whose fault it is
    also: tuple[str, ...]    # named first, these are right too: two words for one thing
    profile: str
    what: str
    clue: str                # by what a technician could tell
    why: str
    demand: str
    gave: str                # when it was drawn
    machine: str
    profiles: Path
    number: str = ""         # of a ticket, where one is kept
    pads: tuple[tuple[str, str], ...] = ()   # repaired pads, and the meter from pad to trace
    options: tuple[str, ...] = ()
    open: bool = False       # its set says what does not hold today


@dataclass(frozen=True)
class Found:
    """What a run made of it."""

    exit_code: int
    verdict: str
    named: tuple[str, ...]       # parties, most likely first; empty: none is named
    faults: tuple[str, ...]      # of the demand

    def told(self) -> str:
        """In one line, as `gave` keeps it."""
        return f"exit {self.exit_code}, {self.verdict}, first {self.first or 'nobody'}"

    @property
    def first(self) -> str:
        """Who is named first; empty: nobody."""
        return self.named[0] if self.named else ""


def right(case: Case, first: str) -> bool:
    """Whether the party named first is the one at fault."""
    return first == case.party or first in case.also


@cache
def cases(drawn: Path = HERE) -> tuple[Case, ...]:
    """All cases of a set."""
    found: list[Case] = []
    for file in sorted((drawn / "cases").glob("*.toml")):
        symptom = file.stem.replace("_", " ")
        entries = tomllib.loads(file.read_text())["case"]
        found += [_case(drawn, symptom, entry) for entry in entries]
    return tuple(found)


def _case(drawn: Path, symptom: str, entry: dict[str, Any]) -> Case:
    given = {**entry, "profiles": drawn / "profiles", "also": tuple(entry.get("also", ())),
             "pads": tuple(entry.get("pads", {}).items()),
             "options": tuple(entry.get("options", ()))}
    return Case(symptom=symptom, **given)


@cache
def look(case: Case) -> Found:
    """Carry a case out."""
    steps = Steps(id=case.id, kind=case.symptom, what=case.what, steps=_steps(case),
                  expect=case.demand, exit_codes=DEMANDS[case.demand])
    return _found(steps, carry_out(steps, command()))


def hold(case: Case) -> None:
    """Hold a case against its demand and its party; an open one must break one of the two."""
    found = look(case)
    holds = not found.faults and right(case, found.first)
    if case.open:
        assert not holds, f"{case.id} holds now ({found.told()}): take its `open = true` away"
    else:
        assert holds, (f"{case.what}\n{found.told()}; demanded: {case.demand}, {case.party} first\n"
                       f"{'; '.join(found.faults)}")


def _steps(case: Case) -> tuple[str, ...]:
    profile = shlex.quote(str(case.profiles / f"{case.profile}.toml"))
    steps = [f"cat > bench.toml <<'END'\n{_machine(case)}END"]
    kept = f"-p {profile}"
    if case.number:
        kept = f"--ticket {case.number}"
        steps += _ticket(case, profile)
    options = " ".join(shlex.quote(option) for option in case.options)
    return (*steps, f"{{burnin}} run --unattended --json --results {{results}} {kept} {options} "
                    f"--simulated bench.toml")


def _ticket(case: Case, profile: str) -> list[str]:
    results = "--results {results}"
    pads = ",".join(pad for pad, _ in case.pads)
    seen = " ".join(f"--seen '{pad} lifted'" for pad, _ in case.pads)
    lines = ["point,value,unit", *(_row(pad, value) for pad, value in case.pads)]
    rows = "\n".join([*lines, *(f"{pair},OL,Ω" for pair in _pairs(case.pads))])
    return [f"{{burnin}} ticket open {case.number} --simulated -p {profile} {seen} "
            f"--customer 'Ottilie Maro' --card 'Corvane Strata 9' --fault none {results}",
            f"{{burnin}} ticket repair {case.number} 'donor pad' --contacts {pads} {results}",
            f"cat > values.csv <<'END'\n{rows}\nEND",
            f"{{burnin}} measure {case.number} --from values.csv {results}"]


def _row(pad: str, value: str) -> str:
    number, _, unit = value.partition(" ")
    return f"{pad}-trace,{number},{unit or 'Ω'}"


def _pairs(pads: tuple[tuple[str, str], ...]) -> list[str]:
    """Each pad and its neighbours on the same side, once; none lies across the notch of the key."""
    pairs: set[tuple[str, int]] = set()
    for pad, _ in pads:
        side, place = pad[0], int(pad[1:])
        pairs |= {(side, low) for low in (place - 1, place) if low not in (0, KEY_AFTER)}
    return [f"{side}{low}-{side}{low + 1}" for side, low in sorted(pairs)]


def _machine(case: Case) -> str:
    text = f'name = "a_bench"\ntitle = "A bench"\n\n{case.machine}'
    text += "" if "[card]" in text else '\n[card]\ncooling = "air"\n'
    return text + ("" if "[[card.outputs]]" in text else OUTPUTS)


def _found(steps: Steps, outcome: Outcome) -> Found:
    events = [json.loads(line) for line in outcome.said.splitlines() if line.startswith('{"event"')]
    end = next((event for event in events if event["event"] == "RunFinished"), None)
    faults = broken(steps, outcome)
    if end is None:
        return Found(outcome.last_exit, "no run", (), (*faults, "no run ended"))
    return Found(outcome.last_exit, end["verdict"], _named(end, events), tuple(faults))


def _named(end: dict[str, Any], events: list[dict[str, Any]]) -> tuple[str, ...]:
    """Whom the run's last word names, in its order."""
    if end["verdict"] == "fail":
        return ("card",)
    reasons = [*(end["reason"] or {}).get("blames", ()), *(owed["reason"] for owed in end["owed"])]
    for reason in reasons:
        told = tuple(dict.fromkeys(_short(party["code"]) for party in reason.get("parties", ())))
        if told:
            return told
    if end["verdict"] == "aborted" and any(_failed(event) for event in events):
        return ("card",)     # a failed reading that is owed to nobody is laid to the card
    return tuple(dict.fromkeys(_in_other_words(end["owed"])))


def _failed(event: dict[str, Any]) -> bool:
    return bool(event["event"] == "ReadingTaken" and event["reading"]["verdict"] == "fail")


def _short(code: str) -> str:
    name = code.removeprefix("party_")
    return ALSO_CALLED.get(name, name)


def _in_other_words(tree: Any) -> list[str]:
    """Parties that stand in a reason without a list of parties, in the order of its words."""
    if isinstance(tree, list):
        return [party for branch in tree for party in _in_other_words(branch)]
    if not isinstance(tree, dict):
        return []
    own = IN_OTHER_WORDS.get(str(tree.get("code")))
    rest = [party for branch in tree.values() for party in _in_other_words(branch)]
    return [own, *rest] if own else rest
