"""run.json in format 2: who, what, with what, and the verdict.

Each key carries its meaning, and its unit where the name does not end in one. The tables in
results/README.md and the JSON Schema are made from here (`describe.py`). Keys that are not here
are passed over, so that a newer tool may add some without a new format.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Literal

from pydantic import Field

from burnin.core.identity import Identity, TemperatureLimits
from burnin.core.opening import EngineDescription, ProfileOpened
from burnin.core.proven_bench import NotProven, ProvenBench
from burnin.core.sample import Resolution
from burnin.core.ticket_header import Ticket
from burnin.core.verdict import Ended, OwedWork, RunVerdict, StageOutcome, StageVerdict, shown
from burnin.record.schema.bench import NotProvenKeys, ProvenBenchKeys
from burnin.record.schema.card import (
    CardKeys,
    Keys,
    SensorStepKeys,
    TemperatureLimitKeys,
)
from burnin.record.schema.json_types import (
    KeptAs,
    NoteInJson,
    NotMeasuredInJson,
    OwedInJson,
    ReasonInJson,
    SourceInJson,
)

FORMAT = 2


class ProfileKeys(Keys):
    """The profile as it was read."""

    name: str
    """its name"""
    title: str
    """its title"""
    file: str
    """the file's name"""
    sha256: str
    """SHA-256 of the text, hexadecimal"""
    text: str
    """the whole profile (TOML)"""


class EngineKeys(Keys):
    """What worked the card."""

    name: str
    """name of the engine"""
    adapter: str
    """the adapter as its API names it"""
    driver: str
    """driver and version as its API names them"""
    why: NoteInJson
    """why this one"""
    works_card: bool = True
    """no: the computer's own processor did the work, and results say nothing of a card"""
    simulated: bool = False
    """whether it is simulated"""
    address: str = ""
    """bus address as its API tells it, empty where it tells none"""
    uuid: str = ""
    """the card's UUID as the API itself tells it; empty: it tells none"""


class TicketKeys(Keys):
    """The repair; each may be empty."""

    number: str = ""
    """the ticket's number"""
    customer: str = ""
    """whose card it is"""
    card_label: str = ""
    """what the card is called at the shop"""
    technician: str = ""
    """who tests"""
    shop: str = ""
    """the shop"""


class StageRow(Keys):
    """One stage that began."""

    stage: str
    """its name in this run, such as `4-memory`"""
    kind: str
    """kind of stage"""
    own_title: str = ""
    """the profile's title for it; empty: that of its kind"""
    verdict: StageVerdict
    """how it ended; incomplete until then"""
    reasons: tuple[ReasonInJson, ...] = ()
    """why it is not a pass"""
    started_s: float | None = None
    """elapsed when it began"""
    ended_s: float | None = None
    """elapsed when it ended; null until then"""
    taken_over: bool = False
    """whether another run of the ticket showed it"""

    def outcome(self) -> StageOutcome:
        """The stage as verdicts are computed from it."""
        return StageOutcome(self.stage, self.kind, self.own_title, self.verdict, self.reasons)


class OwedKeys(Keys):
    """What somebody must still do."""

    stage: str
    """stage that it belongs to; may be empty"""
    what: OwedInJson
    """what is owed"""
    reason: ReasonInJson
    """why it was not done"""


class RunFile(Keys):
    """The whole of run.json."""

    format: Literal[2] = 2
    """this format"""
    run_id: str = Field(min_length=1)
    """the run's name"""
    started_utc: str
    """when it began"""
    ended_utc: str = ""
    """when it was closed; empty until then"""
    simulated: bool = False
    """whether a simulated machine took the card's place; then nothing here speaks of a real card"""
    simulated_scenario: str = ""
    """its scenario"""
    simulated_seed: int = 0
    """its seed; 0 where nothing is simulated"""
    resumed: int = 0
    """how often the run was interrupted and gone on with"""
    folder: str = ""
    """where the record was written"""
    options: Mapping[str, object] = Field(default_factory=dict)
    """what the command was given"""
    tool: Mapping[str, str]
    """versions: `burnin`, `python`"""
    profile: Annotated[ProfileOpened, KeptAs(ProfileKeys, ProfileOpened)]
    """what was asked of the card"""
    guards: Mapping[str, object]
    """settings of the guards as the profile has them, by name with unit; null: not set"""
    card: Annotated[Identity, KeptAs(CardKeys, Identity)] | None
    """who the card says it is; null where none took part"""
    card_absent: ReasonInJson | None = None
    """why no card took part"""
    temperature_limits: (
        Annotated[TemperatureLimits, KeptAs(TemperatureLimitKeys, TemperatureLimits)] | None
    ) = None
    """thresholds that the card itself names"""
    sensor_steps: Annotated[Resolution, KeptAs(SensorStepKeys, Resolution)] | None = None
    """steps of its sensors"""
    sources: Mapping[str, SourceInJson] = Field(default_factory=dict)
    """where each value of telemetry and identity is from, by its name"""
    bench: Mapping[str, str | NotMeasuredInJson] = Field(default_factory=dict)
    """facts of the host computer by name"""
    bench_shown: (
        Annotated[ProvenBench, KeptAs(ProvenBenchKeys, ProvenBench)]
        | Annotated[NotProven, KeptAs(NotProvenKeys, NotProven)]
        | None
    ) = None
    """what known-good cards had shown in the card's slot; null: nobody asked"""
    engine: Annotated[EngineDescription, KeptAs(EngineKeys, EngineDescription)]
    """what worked the card"""
    ticket: Annotated[Ticket, KeptAs(TicketKeys, Ticket)]
    """the repair"""
    stages: tuple[StageRow, ...] = ()
    """stages that began, in order"""
    verdict: RunVerdict = RunVerdict.INCOMPLETE
    """incomplete from the start until the run is closed"""
    reason: ReasonInJson
    """the verdict's reason"""
    ended: Ended = Ended.NOT_YET
    """how it came to its end; empty until the run is closed"""
    owed: tuple[Annotated[OwedWork, KeptAs(OwedKeys, OwedWork)], ...] = ()
    """what somebody must still do"""

    @property
    def is_simulated(self) -> bool:
        """Whether any part of this file says that no real card was at work."""
        by_option = self.options.get("simulated")
        by_card = self.card is not None and self.card.simulated
        named = self.simulated or self.simulated_scenario or by_option
        return bool(named or by_card or self.engine.simulated)

    @property
    def shown_verdict(self) -> str:
        """The word that the run is shown to have ended in (`core.verdict.shown`)."""
        return shown(self.verdict, simulated=self.is_simulated)
