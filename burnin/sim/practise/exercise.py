"""Practice: a fault is drawn and not told; the technician finds it with the tool's own stages.

The scenario ``practise:7`` runs like any other (``burnin run --simulated practise:7``); its name,
title and every file of its record say no more than that it is for practice.
"""

from __future__ import annotations

from functools import lru_cache
from random import Random

from burnin.core.errors import BadInput
from burnin.sim.practise.draws import DRAWS
from burnin.sim.practise.refusals import PractiseRefusal
from burnin.sim.scenario.model import Scenario, load_scenario, scenario_from

PRACTISE = "practise:"
"""What the name of a scenario that is drawn for practice begins with; a seed follows."""
PROFILE = "desktop_air"


def is_practise(name: str) -> bool:
    """Whether a scenario's name asks for one to be drawn."""
    return name.startswith(PRACTISE)


@lru_cache(maxsize=16)
def drawn(seed: int) -> Scenario:
    """The scenario of a practice seed (0 or more); the same again for the same seed."""
    chance = Random(f"practise/{seed}")
    healthy = load_scenario("healthy").model_dump(exclude_none=True)
    cause, bench = chance.choice(DRAWS)(chance)
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
        raise BadInput(PractiseRefusal.NO_NUMBER(text=name, word=PRACTISE))
    return drawn(int(digits))
