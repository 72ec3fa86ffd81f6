"""The simulated machine: one physical state that time moves on, and nothing else.

Heat, power, cooling, link, memory, outputs and sensors act on each other as they do in a card;
files, engine and clock only look at this state or ask for work.
"""

from __future__ import annotations

import threading
from collections.abc import Mapping
from typing import Protocol, runtime_checkable

from burnin.sim.causes.kinds import BusCause, CapacitorCause, ContactCause, DriverCause
from burnin.sim.physics.card_down import CardDown
from burnin.sim.physics.contacts import ContactState, contact_states, why_no_start
from burnin.sim.physics.cooling import Cooling
from burnin.sim.physics.counters import Counters
from burnin.sim.physics.hands import Hands
from burnin.sim.physics.joints import Joints
from burnin.sim.physics.kernel_says import KernelSays
from burnin.sim.physics.link import Link
from burnin.sim.physics.memory import Memory
from burnin.sim.physics.outputs import outputs
from burnin.sim.physics.power import IDLE, Activity, Heat, Power
from burnin.sim.physics.rail import Rail
from burnin.sim.physics.sensors import Sensors, Truth
from burnin.sim.physics.supply import Supply
from burnin.sim.scenario.build import build_card
from burnin.sim.scenario.model import Scenario

TICK_S = 0.05
"""Longest step between two looks at clocks, fans, link and sensors."""
_SHORTEST_S = 1e-3
_LOADED_SHARE = 0.5
_RECOVERY_S = 0.1
"""For how long work stands still while link or driver recover; less than a sample apart."""
_MEMORY_SHUTDOWN_K = 15.0
_HOTSPOT_SHUTDOWN_K = 18.0


class Worker(Protocol):
    """Whoever puts the card to work; asked at every tick."""

    def activity(self, time_s: float) -> Activity:
        """What is asked of the card from now on."""
        ...

    def worked(self, seconds: float) -> None:
        """That many seconds of it have passed."""
        ...


@runtime_checkable
class ChangesSoon(Protocol):
    """A worker that may ask for something else before a tick is over."""

    def steady_for_s(self) -> float:
        """For how long it asks for the same."""
        ...


class Machine:
    """A bench with one card, by scenario and seed; deterministic for both.

    `time_s` is 0 at the start and moves only by `advance`. The card has been powered for
    `powered_for_s` of the scenario by then.
    """

    def __init__(self, scenario: Scenario, seed: int = 1) -> None:
        self.scenario = scenario
        self.seed = seed
        self.build = build_card(scenario, seed)
        self.cooling = Cooling(scenario, self.build)
        self.network = self.cooling.network()
        self.supply = Supply(scenario)
        self.joints = Joints(scenario, self.supply)
        self.power = Power(scenario.card, self.build, self.supply.cap_w)
        self.rail = Rail(scenario)
        self.sensors = Sensors(scenario, seed)
        self.memory = Memory(scenario)
        self.outputs = outputs(scenario)
        self.link = Link(scenario, seed)
        self.counters = Counters(scenario, self.sensors, self.link)
        self.kernel = KernelSays()
        self.hands = Hands()
        self.time_s = 0.0
        self.load_s = 0.0
        self.heat = Heat(0.0, 0.0, 0.0)
        self.fallen_because: CardDown | None = None
        self._fell_at_s: float | None = None
        self._activity = IDLE
        self._worker: Worker | None = None
        self._contacts = [
            c for c in scenario.causes if isinstance(c, ContactCause | CapacitorCause)
        ]
        drivers = [c for c in scenario.causes if isinstance(c, DriverCause)]
        self._hangs = [c for c in drivers if c.state == "hangs"]
        bus = [c for c in scenario.causes if isinstance(c, BusCause)]
        self._bus = [c for c in bus if c.state == "falls_off"]
        self._log_alone: list[BusCause | DriverCause] = [
            *(c for c in drivers if c.state != "hangs"), *(c for c in bus if c.state == "bounces")
        ]  # fmt: skip
        self._hang_told = False
        self._stands_until_s = -1.0
        self._lock = threading.RLock()
        self._uptime_s = 0.0
        self._power_on()

    def _power_on(self) -> None:
        """Train the link, then idle for the time that the card has been powered."""
        states = contact_states(self._contacts, self.network.at("board"), 0.0)
        self._check_contacts(states)
        if self.supply.why_no_start is not None:
            self._fall(self.supply.why_no_start)
        if self.fallen_because is None:
            self.link.train(states)
            if not self.link.up:
                self._fall(CardDown.NO_LANE_TRAINS)
        wait = self.scenario.bench.powered_for_s
        while self._uptime_s < wait:
            self._tick(min(4 * TICK_S, wait - self._uptime_s), IDLE)
        self._tick(1e-3, IDLE)

    @property
    def uptime_s(self) -> float:
        """Seconds since power-on."""
        return self._uptime_s

    @property
    def moved(self) -> dict[str, float]:
        """How far a hand moves each place of the card now."""
        return self.hands.moved(self.time_s)

    @property
    def card_answers(self) -> bool:
        """Whether the card is on the bus."""
        return self.fallen_because is None

    @property
    def driver_hangs(self) -> bool:
        """Whether the card's driver has stopped answering; the card itself still does."""
        return any(self.load_s >= cause.after_load_s for cause in self._hangs)

    @property
    def started(self) -> bool:
        """Whether the bench found the card at power-on; one that fell later did start."""
        return self._fell_at_s is None or self._fell_at_s > 0.0

    @property
    def activity(self) -> Activity:
        """What the card works at now."""
        return self._activity

    @property
    def hotspot_c(self) -> float:
        """Temperature of the hot spot: its excess over the die follows the die's power at once."""
        return self.network.at("die") + self.build.hotspot_k_per_w * self.heat.die_w

    def employ(self, worker: Worker) -> None:
        """Let `worker` say from now on what the card does."""
        self._worker = worker

    def advance(self, seconds: float) -> None:
        """Let `seconds` (0 or more) pass."""
        with self._lock:
            left = seconds
            while left > 1e-9:
                step = min(TICK_S, left)
                activity = IDLE
                if self._worker is not None and self.card_answers:
                    activity = self._worker.activity(self.time_s)
                    if isinstance(self._worker, ChangesSoon):
                        step = min(step, max(_SHORTEST_S, self._worker.steady_for_s()))
                stands = self.driver_hangs or self.time_s < self._stands_until_s
                if stands:
                    activity = IDLE
                self._tick(step, activity)
                self.time_s += step
                left -= step
                self._tell_kernel()
                if self._worker is not None and not stands and not self.driver_hangs:
                    self._worker.worked(step)

    def _fall(self, why: CardDown) -> None:
        """The card is gone from the bus and stays so until somebody cycles the power."""
        if self.fallen_because is None:
            self.fallen_because = why
            self._fell_at_s = self._uptime_s
            self.link.lose()
            if self._uptime_s > 0.0:
                self.kernel.link_lost(self._uptime_s)

    def _tell_kernel(self) -> None:
        """What happens to driver and link beside the card's own state; the log tells it once."""
        if self.driver_hangs and not self._hang_told:
            self._hang_told = True
            self.kernel.driver_hung(self._uptime_s)
        for cause in [c for c in self._log_alone if self._due(c)]:
            self._log_alone.remove(cause)
            if isinstance(cause, BusCause):
                self.kernel.link_bounced(self._uptime_s)
                self._stands_until_s = self.time_s + _RECOVERY_S
            elif cause.state == "resets":
                self.kernel.driver_reset(self._uptime_s)
                self._stands_until_s = self.time_s + _RECOVERY_S
            else:
                self.kernel.gpu_faulted(self._uptime_s)

    def _due(self, cause: BusCause | DriverCause) -> bool:
        """Whether a cause has come; a card that is gone meets no further one."""
        if not self.card_answers:
            return False
        if cause.after_load_s is not None and self.load_s >= cause.after_load_s:
            return True
        warm = cause.above_board_c if isinstance(cause, BusCause) else None
        return warm is not None and self.network.at("board") >= warm

    def _tick(self, seconds: float, activity: Activity) -> None:
        network = self.network
        self._activity = activity if self.card_answers else IDLE
        if self.card_answers:
            die_c = network.at("die")
            self.power.advance(seconds, activity, die_c, self.heat.total_w)
            self.heat = self.power.heat(activity, die_c)
        else:
            self.heat = Heat(0.0, 0.0, 0.0)
        self.rail.advance(self.heat.total_w)
        self.cooling.advance(seconds, network, self._uptime_s, self.load_s)
        by_node = {
            "die": self.heat.die_w, "memory": self.heat.memory_w, "board": self.heat.board_w
        }
        watts = [by_node.get(name, 0.0) for name in network.names]
        network.advance(seconds, watts, self.build.room_c)
        self.joints.advance(seconds, self.heat.total_w)
        self._uptime_s += seconds
        if activity.core >= _LOADED_SHARE:
            self.load_s += seconds
        if self.card_answers:
            self._after_tick(seconds, activity)
        truth = Truth(
            network.at("die"),
            self.hotspot_c,
            network.at("memory"),
            self.heat.total_w,
            tuple(fan.rpm for fan in self.cooling.each_fan),
        )
        self.sensors.advance(seconds, truth, self._uptime_s, self.load_s)
        self.counters.advance(self._uptime_s, self.load_s)

    def _after_tick(self, seconds: float, activity: Activity) -> None:
        board_c = self.network.at("board")
        states = contact_states(self._contacts, board_c, self._uptime_s, self.moved)
        if states:
            self._check_contacts(states)
        why = self.supply.advance(seconds, states, self.heat.total_w, self._uptime_s)
        if why is not None:
            self._fall(why)
        if self.fallen_because is not None:
            return
        self.link.advance(seconds, states, activity)
        if not self.link.up:
            self._fall(CardDown.NO_LANE_TRAINS)
        for cause in self._bus:
            if cause.after_load_s is not None and self.load_s >= cause.after_load_s:
                self._fall(CardDown.FELL_OFF_UNDER_LOAD)
            if cause.above_board_c is not None and board_c >= cause.above_board_c:
                self._fall(CardDown.FELL_OFF_WARM)
        card = self.scenario.card
        if (
            self.network.at("die") >= card.shutdown_c
            or self.hotspot_c >= card.shutdown_c + _HOTSPOT_SHUTDOWN_K
            or self.network.at("memory") >= card.memory_max_c + _MEMORY_SHUTDOWN_K
        ):
            self._fall(CardDown.SHUT_ITSELF_DOWN)

    def _check_contacts(self, states: Mapping[str, ContactState]) -> None:
        build = self.scenario
        why = why_no_start(states, build.card.width_lanes, build.bench.needs_presence)
        if why is not None:
            self._fall(why)
