"""A simulated bench with several cards, of which one is alive in this process.

Each card has a machine of its own. The one that is picked moves as the clock does; the others stand
idle beside it, as they were at power-on: whoever works them does so in another process.
"""

from __future__ import annotations

from collections.abc import Sequence

from burnin.core.errors import BadInput
from burnin.run.bench import BenchSource
from burnin.sim.bench_shown import bench_shown
from burnin.sim.clock import SimulatedClock
from burnin.sim.engine.engine import SimulatedEngine
from burnin.sim.files.answers import Node
from burnin.sim.files.seats import Seat
from burnin.sim.files.simulated_files import SimulatedFiles
from burnin.sim.files.tree import nodes
from burnin.sim.physics.machine import Machine
from burnin.sim.scenario.model import Scenario
from burnin.sim.scenario.several import BenchOfSeveral, cards_of
from burnin.sim.technician import SimulatedTechnician

_OF_THE_LIVE = ("/proc/uptime", "/dev/kmsg")
"""Files of the host that speak of the card that is alive here."""
_IDLE_S = 1.0
"""For how long a card that is not picked has been powered: enough to show its idle state."""


def open_several(
    bench: BenchOfSeveral, seed: int, pace: float | None, address: str
) -> BenchSource:
    """The bench with the card at `address` alive; without one, that of the first slot."""
    cards = [(Seat(n, bridge), card) for n, (bridge, card) in enumerate(cards_of(bench))]
    live = 0
    if address:
        wanted = address if address.count(":") == 2 else f"0000:{address}"
        found = [n for n, (seat, _) in enumerate(cards) if seat.card == wanted.lower()]
        if not found:
            there = ", ".join(seat.card for seat, _ in cards)
            raise BadInput(f"no card at {address}; there are: {there}")
        live = found[0]
    machines = [
        Machine(scenario if n == live else _idle(scenario), seed + n)
        for n, (_, scenario) in enumerate(cards)
    ]
    machine, (seat, scenario) = machines[live], cards[live]
    machine.kernel.card, machine.kernel.port = seat.card, seat.port
    attached = frozenset(output.name for output in scenario.card.outputs if output.monitor)
    return BenchSource(
        files=SimulatedFiles(machine, _files(cards, machines, live)),
        engine=SimulatedEngine(machine, seat.card),
        clock=SimulatedClock(machine, pace),
        label=bench.name,
        attached=attached,
        shown=bench_shown(scenario),
        technician=SimulatedTechnician(machine, attached),
    )


def _files(
    cards: Sequence[tuple[Seat, Scenario]], machines: Sequence[Machine], live: int
) -> dict[str, Node]:
    """All files of the bench; those of the host are the same whichever card is alive."""
    found: dict[str, Node] = {}
    for (seat, _), machine in zip(reversed(cards), reversed(machines), strict=True):
        found |= seat.files(nodes(machine))
    own = nodes(machines[live])
    return found | {path: own[path] for path in _OF_THE_LIVE}


def _idle(scenario: Scenario) -> Scenario:
    bench = scenario.bench.model_copy(update={"powered_for_s": _IDLE_S})
    return scenario.model_copy(update={"bench": bench})
