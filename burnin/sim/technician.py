"""The technician of a simulated bench: does what prompts ask, and tells what the machine shows.

Nothing is told from a list: plugs are in or not as the scenario built them, a movement moves the
machine's own places.
"""

from __future__ import annotations

import random
from collections.abc import Callable

from burnin.core.meaning import Prompt
from burnin.core.reading import NotMeasured
from burnin.run.prompters import SaidBeforehand
from burnin.run.reasons import RunReason
from burnin.sim.physics.machine import Machine
from burnin.stages.display.meanings import DisplayPrompt
from burnin.stages.movement.meanings import MovementPrompt
from burnin.stages.standing_prompt import Settled, StandingPrompt
from burnin.stages.under_load.meanings import UnderLoadPrompt

_REACHES_S = 1.5
_MOVES_S = 3.0
_PROBES_S = 3.0
_TYPES_S = 1.0
"""What a person takes to reach for a thing, to move it, to read a meter, to type (estimates)."""


class SimulatedTechnician:
    """Answers prompts, those that stand open too, out of the machine; time passes as its own."""

    def __init__(self, machine: Machine, attached: frozenset[str]) -> None:
        self._machine = machine
        self._chance = random.Random(f"{machine.seed}/meter")
        self._beforehand = SaidBeforehand(attached)

    def ask(self, prompt: Prompt, timeout_s: float) -> str | NotMeasured:
        """Monitors are plugged in where the scenario has them; pictures are what lanes carry."""
        if prompt.means(DisplayPrompt.PICTURE):
            return "yes" if self._shows(str(prompt["output"])) else "none"
        return self._beforehand.ask(prompt, timeout_s)

    def put(self, prompt: Prompt, timeout_s: float) -> StandingPrompt:  # noqa: ARG002
        """Begin with what is asked; the answer comes when it is done."""
        machine = self._machine
        if prompt.means(*MovementPrompt):
            machine.hands.move(_place(prompt), machine.time_s + _REACHES_S, _MOVES_S)
            return _Busy(machine, _REACHES_S + _MOVES_S + _TYPES_S, lambda: "done")
        if prompt.means(*UnderLoadPrompt):
            return _Busy(machine, _REACHES_S + _PROBES_S + _TYPES_S, lambda: self._told(prompt))
        return Settled(NotMeasured(RunReason.NOBODY_AT_HAND()))

    def _told(self, prompt: Prompt) -> str:
        """What the instrument shows now, as it is typed; nothing where there is no such plug."""
        machine = self._machine
        if prompt.means(UnderLoadPrompt.PICTURE):
            return "yes" if machine.card_answers and self._lit() else "no"
        number = prompt["plug"]
        assert isinstance(number, int)
        if number > len(machine.joints.all):
            return ""
        joint = machine.joints.all[number - 1]
        if prompt.means(UnderLoadPrompt.SUPPLY):
            return f"{joint.supply_v() * self._off(0.002):.2f} V"
        place = str(prompt["place"])
        if prompt.means(UnderLoadPrompt.TEMPERATURE):
            warm_c = machine.network.at("board") + joint.rise_k(place)
            return f"{warm_c + self._chance.uniform(-1.0, 1.0):.1f} °C"
        return f"{1e3 * joint.drop_v(place) * self._off(0.004):.1f} mV"

    def _lit(self) -> bool:
        machine = self._machine
        now = [output.at(machine.uptime_s, machine.moved) for output in machine.outputs]
        lanes = [state.lanes for state in now if state.connected]
        return bool(lanes) and all(lanes)

    def _shows(self, name: str) -> bool:
        machine = self._machine
        now = (o.at(machine.uptime_s, machine.moved) for o in machine.outputs if o.name == name)
        return machine.card_answers and any(state.connected and state.lanes for state in now)

    def _off(self, share: float) -> float:
        """By what a meter that keeps to its accuracy is off, as a factor."""
        return 1.0 + self._chance.uniform(-share, share)


def _place(prompt: Prompt) -> str:
    """The machine's name of the place that a prompt speaks of."""
    if prompt.means(MovementPrompt.FREE_END):
        return "free_end"
    if prompt.means(MovementPrompt.EDGE):
        return "edge"
    if prompt.means(MovementPrompt.POWER_PLUG):
        return f"plug {prompt['number']}"
    return f"cable {prompt['output']}"


class _Busy:
    """A prompt whose answer takes its time."""

    def __init__(self, machine: Machine, takes_s: float, answer: Callable[[], str]) -> None:
        self._machine, self._answer = machine, answer
        self._ready_s = machine.time_s + takes_s

    def look(self) -> str | None:
        """The answer, made when it is due: what is read is read then."""
        return self._answer() if self._machine.time_s >= self._ready_s else None

    def withdraw(self) -> None:
        """Hands off."""
        self._machine.hands.move("", 0.0, 0.0)
