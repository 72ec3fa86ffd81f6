"""All that is known of a run before its first stage: what the stream of events opens with."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from burnin.core.identity import Identity, TemperatureLimits
from burnin.core.meaning import Note, Reason, Source
from burnin.core.proven_bench import NotProven, ProvenBench
from burnin.core.reading import NotMeasured
from burnin.core.sample import Resolution
from burnin.core.ticket_header import Ticket


@dataclass(frozen=True)
class EngineDescription:
    """What works the card: engine name, the adapter as its API names it, and why this one.

    `works_card` is False for a software adapter: its results say nothing of a card. `address` is
    the bus address as the API itself tells it, `uuid` the card's, empty where it tells none.
    """

    name: str
    adapter: str
    driver: str
    why: Note | Reason
    works_card: bool = True
    simulated: bool = False
    address: str = ""
    uuid: str = ""


@dataclass(frozen=True)
class ProfileOpened:
    """The profile as it was read: its name, title, file, text, and the SHA-256 of the text."""

    name: str
    title: str
    file: str
    sha256: str
    text: str


@dataclass(frozen=True)
class Opening:
    """What a run opens with.

    `options`: what the command was given. `tool`: versions. `guards`: the profile's settings of the
    guards. `card` is None where there is none, and `card_absent` says why. `sources`: where each
    value of telemetry and identity is from, by its name. `resumed`: how often the run was
    interrupted and gone on with; `resumed` and `simulated_seed` mean nothing where they are 0.
    `bench_shown`: what the card's slot had shown before; None where nobody asked.
    """

    run_id: str
    started_utc: str
    folder: str
    tool: Mapping[str, str]
    options: Mapping[str, object]
    profile: ProfileOpened
    guards: Mapping[str, object]
    ticket: Ticket
    engine: EngineDescription
    card: Identity | None
    card_absent: Reason | None = None
    bench: Mapping[str, str | NotMeasured] = field(default_factory=dict)
    temperature_limits: TemperatureLimits | None = None
    sensor_steps: Resolution | None = None
    sources: Mapping[str, Source] = field(default_factory=dict)
    simulated_scenario: str = ""
    simulated_seed: int = 0
    resumed: int = 0
    bench_shown: ProvenBench | NotProven | None = None

    @property
    def simulated(self) -> bool:
        """Whether a simulated machine stands in for the bench."""
        return bool(self.simulated_scenario)
