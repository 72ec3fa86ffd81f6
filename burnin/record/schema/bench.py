"""What run.json holds of the bench: what known-good cards had shown in the card's slot."""

from __future__ import annotations

from typing import Annotated

from burnin.core.proven_bench import NOWHERE, ProvenOutput, ProvenRail, Slot
from burnin.record.schema.card import Keys
from burnin.record.schema.json_types import KeptAs, ReasonInJson


class SlotKeys(Keys):
    """A slot of a host; each is empty where it cannot be told."""

    port: str = ""
    """PCI address of the port above the card"""
    bench: str = ""
    """digest that tells the host from others"""


class ProvenOutputKeys(Keys):
    """An output whose monitor and cable are known to be good."""

    output: str
    """the output"""
    monitor: str = ""
    """name that the monitor tells"""
    cable: str = ""
    """what the technician calls the cable"""


class ProvenRailKeys(Keys):
    """A rail of the supply, measured with a known-good card."""

    name: str
    """the rail"""
    voltage_v: float
    """its voltage"""


class ProvenBenchKeys(Keys):
    """What a proven slot had shown; null: nobody saw any."""

    slot: Annotated[Slot, KeptAs(SlotKeys, Slot)]
    """which slot"""
    by: str = ""
    """who declared the newest known-good run"""
    proven_utc: str = ""
    """when that run began"""
    card: str = ""
    """the known-good card"""
    runs: tuple[str, ...] = ()
    """runs that count"""
    width_lanes: int | None = None
    """lanes that the slot carried"""
    speed_gts: float | None = None
    """rate that it carried, GT/s"""
    width_limit_lanes: int | None = None
    """lanes that it gave a card which could do more, though its port promises more"""
    speed_limit_gts: float | None = None
    """the same of the rate, GT/s"""
    error_rate_bound: float | None = None
    """errors a bit on each lane, upper bound at 95 %"""
    to_card_gbs: float | None = None
    """copy rate to the card, GB/s"""
    to_host_gbs: float | None = None
    """copy rate from the card, GB/s"""
    ambient_c: float | None = None
    """air around the bench, °C"""
    supply_w: float | None = None
    """most power that a card drew"""
    rails: tuple[Annotated[ProvenRail, KeptAs(ProvenRailKeys, ProvenRail)], ...] = ()
    """rails of the supply"""
    outputs: tuple[Annotated[ProvenOutput, KeptAs(ProvenOutputKeys, ProvenOutput)], ...] = ()
    """outputs with a good monitor and cable"""
    age_days: float = 0.0
    """age of the newest proof when the run began"""
    starts_since: int = 0
    """starts of the bench that runs saw since"""
    days_count: float = 0.0
    """days for which a proof counts"""
    starts_count: int = 0
    """starts for which it counts"""
    simulated: bool = False
    """whether it is the simulated bench, whose scenario says so"""
    cooled_w: float | None = None
    """most power at which the bench cooled a card without fans of its own"""


class NotProvenKeys(Keys):
    """Nothing is known of the slot that counts."""

    reason: ReasonInJson
    """why"""
    slot: Annotated[Slot, KeptAs(SlotKeys, Slot)] = NOWHERE
    """which slot"""
