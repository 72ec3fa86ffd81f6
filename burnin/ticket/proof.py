"""What the runs of a ticket have proven, stage by stage, since the card was last worked on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path

from burnin.core.errors import RecordError
from burnin.core.reading import Reading
from burnin.core.verdict import StageOutcome
from burnin.record.rows import read_facts, read_rows, reading_of
from burnin.ticket.dates import moment_of
from burnin.ticket.whole_ticket import WholeTicket

_FROM = "from run "

STANDS = ("pass", "fail")
"""Verdicts of a stage that need no second run: it passed, or what failed stays failed."""


@dataclass(frozen=True)
class PastRun:
    """A run's record as its run.json tells it."""

    folder: Path
    facts: Mapping[str, object]

    @property
    def run_id(self) -> str:
        """Its name."""
        return str(self.facts.get("run_id", self.folder.name))

    @property
    def started(self) -> datetime:
        """When it began."""
        return moment_of(str(self.facts.get("started_utc", "")))

    @property
    def verdict(self) -> str:
        """Its verdict as recorded."""
        return str(self.facts.get("verdict", "incomplete"))

    @property
    def profile_sha256(self) -> str:
        """Which profile it carried out, to the letter."""
        profile = self.facts.get("profile")
        return str(profile.get("sha256", "")) if isinstance(profile, dict) else ""

    @property
    def profile_name(self) -> str:
        """The profile's name."""
        profile = self.facts.get("profile")
        return str(profile.get("name", "")) if isinstance(profile, dict) else ""

    @property
    def simulated(self) -> bool:
        """Whether a simulated machine took the card's place."""
        return bool(self.facts.get("simulated"))

    def stages(self) -> tuple[Mapping[str, object], ...]:
        """Rows of its stages."""
        found = self.facts.get("stages")
        return tuple(s for s in found if isinstance(s, dict)) if isinstance(found, list) else ()

    def owed(self) -> tuple[Mapping[str, object], ...]:
        """What it left owed."""
        found = self.facts.get("owed")
        return tuple(o for o in found if isinstance(o, dict)) if isinstance(found, list) else ()


@dataclass(frozen=True)
class Proven:
    """A stage that needs no second run, with its readings and the run that it comes from."""

    outcome: StageOutcome
    readings: tuple[Reading, ...]
    run_id: str
    at: datetime


def past_runs(ticket_folder: Path) -> tuple[PastRun, ...]:
    """All readable records of a ticket, oldest first."""
    found = []
    for path in ticket_folder.glob("*/run.json"):
        try:
            found.append(PastRun(path.parent, read_facts(path.parent)))
        except RecordError:
            continue
    return tuple(sorted(found, key=lambda r: (r.started, r.run_id)))


def runs_that_count(ticket: WholeTicket) -> tuple[PastRun, ...]:
    """Runs since the last repair: what was shown before it says nothing of the card now."""
    since = moment_of(ticket.last_repair_utc)
    return tuple(run for run in past_runs(ticket.folder) if run.started >= since)


def same_card(run: PastRun, card: Mapping[str, object] | None) -> bool:
    """Whether a run's card may be the one that `card` tells of (numbers, and serial if known)."""
    then = run.facts.get("card")
    if not isinstance(then, dict) or card is None:
        return then is None and card is None
    keys = ("vendor_id", "device_id", "subsystem_vendor_id", "subsystem_id")
    if any(then.get(key) != card.get(key) for key in keys):
        return False
    serials = (then.get("serial"), card.get("serial"))
    both = all(isinstance(serial, str) for serial in serials)
    return not both or serials[0] == serials[1]


def proven(runs: tuple[PastRun, ...], profile_sha256: str) -> dict[str, Proven]:
    """Stages by name that stand, from runs of one profile; a failure is never outweighed."""
    found: dict[str, Proven] = {}
    for run in runs:
        if run.profile_sha256 != profile_sha256:
            continue
        for row in run.stages():
            name, verdict = str(row.get("stage", "")), str(row.get("verdict", ""))
            stands = name in found and found[name].outcome.verdict == "fail"
            if verdict not in STANDS or stands:
                continue
            stage = _proven(run, row, name, verdict)
            if name in found and _is_copy(stage):
                continue
            found[name] = stage
    return found


def _is_copy(stage: Proven) -> bool:
    """Whether a later run only carried the stage over from an earlier one."""
    return any(r.source.startswith(_FROM) for r in stage.readings)


def carried_over(stage: Proven) -> tuple[Reading, ...]:
    """A stage's readings as another run's record holds them: the source names the run."""
    return tuple(_from_run(reading, stage.run_id) for reading in stage.readings)


def _proven(run: PastRun, row: Mapping[str, object], name: str, verdict: str) -> Proven:
    outcome = StageOutcome(
        name,
        str(row.get("kind", "")),
        str(row.get("title", "")),
        verdict,
        str(row.get("reason", "")),
    )
    rows = {
        r["reading"]: r for r in read_rows(run.folder / "readings.csv") if r.get("stage") == name
    }
    readings = tuple(reading_of(r) for r in rows.values())
    began = row.get("started_s")
    seconds = float(began) if isinstance(began, int | float) else 0.0
    return Proven(outcome, readings, run.run_id, run.started + timedelta(seconds=seconds))


def _from_run(reading: Reading, run_id: str) -> Reading:
    if reading.source.startswith(_FROM):
        return reading
    return replace(reading, source=f"{_FROM}{run_id}: {reading.source}".rstrip(": "))
