"""What a slot of a bench has shown with known-good cards, as a run opens with it.

A fail of a link is the card's only where the slot has carried as much before, within the age that
the shop allows (law 15). What is kept on disk, and how a proof ages: `burnin.run.proven`.
"""

from __future__ import annotations

from dataclasses import dataclass

from burnin.core.meaning import Reason


@dataclass(frozen=True)
class Slot:
    """A slot: the PCI address of the port above the card, and who its host is.

    `bench` is a digest of what tells the host from others (`burnin.card.sources.linux_bench`);
    empty where nothing does. `port` is empty where the port cannot be told.
    """

    port: str
    bench: str

    @property
    def known(self) -> bool:
        """Whether this slot can be told from any other."""
        return bool(self.port and self.bench)


NOWHERE = Slot("", "")
"""A slot of which nothing is known."""


@dataclass(frozen=True)
class ProvenOutput:
    """An output whose monitor and cable worked with a known-good card.

    `monitor` is the name that it tells, `cable` what the technician calls the cable.
    """

    output: str
    monitor: str = ""
    cable: str = ""


@dataclass(frozen=True)
class ProvenRail:
    """A rail of the supply and what it measured with a known-good card, in V."""

    name: str
    voltage_v: float


@dataclass(frozen=True)
class ProvenBench:
    """A slot proven by known-good cards within the age that counts.

    `by`, `proven_utc`, `card`: who declared it, when that run began, and with which card, of
    the newest proof; `runs` are all that count. `width_lanes`, `speed_gts`: the most that the
    slot carried, None where nobody saw any. `width_limit_lanes`, `speed_limit_gts`: the most
    that the slot gave a known-good card which could do more, though its port promises more too;
    None where no such limit showed. `error_rate_bound`: errors a bit on each lane, upper bound
    at 95 %. `to_card_gbs`, `to_host_gbs`: copy rates, GB/s. `ambient_c`: of the newest proof.
    `supply_w`: the most that a card drew; `cooled_w`: the most at which the bench cooled a card
    without fans of its own, all its temperatures within their limits; `rails`: as measured with
    the newest. `outputs`: where monitor and cable are known to be good. `age_days`,
    `starts_since`: of the newest proof, and starts of the bench seen since; `days_count`,
    `starts_count`: how many of each count. `simulated`: the simulated bench, whose scenario
    says that it is sound.
    """

    slot: Slot = NOWHERE
    by: str = ""
    proven_utc: str = ""
    card: str = ""
    runs: tuple[str, ...] = ()
    width_lanes: int | None = None
    speed_gts: float | None = None
    width_limit_lanes: int | None = None
    speed_limit_gts: float | None = None
    error_rate_bound: float | None = None
    to_card_gbs: float | None = None
    to_host_gbs: float | None = None
    ambient_c: float | None = None
    supply_w: float | None = None
    rails: tuple[ProvenRail, ...] = ()
    outputs: tuple[ProvenOutput, ...] = ()
    age_days: float = 0.0
    starts_since: int = 0
    days_count: float = 0.0
    starts_count: int = 0
    simulated: bool = False
    cooled_w: float | None = None

    def carries(self, width_lanes: float | None, speed_gts: float | None) -> bool:
        """Whether the slot has carried at least that much; None asks for nothing."""
        wide = width_lanes is None or (
            self.width_lanes is not None and self.width_lanes >= width_lanes
        )
        fast = speed_gts is None or (self.speed_gts is not None and self.speed_gts >= speed_gts)
        return wide and fast

    def output_proven(self, output: str) -> bool:
        """Whether monitor and cable at an output are known to be good."""
        return any(proven.output == output for proven in self.outputs)

    def supplies(self, power_w: float) -> bool:
        """Whether the bench has fed a card that drew at least that much."""
        return self.supply_w is not None and self.supply_w >= power_w


@dataclass(frozen=True)
class NotProven:
    """A slot of which nothing is known that counts, and why."""

    reason: Reason
    slot: Slot = NOWHERE


BenchShown = ProvenBench | NotProven
"""What a run knows of its bench."""
