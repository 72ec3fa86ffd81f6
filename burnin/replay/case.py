"""What is judged anew: a recording or a record as samples, with what it knows and its settings."""

from __future__ import annotations

import json
import math
import tomllib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from pydantic import ValidationError

from burnin.core.errors import RecordError
from burnin.core.plain import finite
from burnin.core.sample import Resolution, Sample
from burnin.guard.factory import GuardFacts
from burnin.profile.guards import Guards
from burnin.profile.loader import LoadedProfile
from burnin.record.journal import JournalEntry
from burnin.record.reader import Record
from burnin.replay.default_settings import RECORDING_DEFAULTS
from burnin.replay.reasons import ReplayRefusal
from burnin.replay.recording_file import BadRow, Recording
from burnin.replay.recording_head import MOST_PLAN_STEPS, Known
from burnin.thermal.inputs import Plan, plan_of
from burnin.thermal.states import CooledBy


@dataclass(frozen=True)
class PlannedFrom:
    """From `elapsed_s` on a run had planned `plan`, or a load of unknown watts until `ends_s`."""

    elapsed_s: float
    plan: Plan | None
    ends_s: float | None


@dataclass(frozen=True)
class Case:
    """One recording or record, ready to be judged once.

    `profile`: whose settings they are, empty where the defaults judge. `planned`: what the run had
    planned while it went on. `no_loop`: it is known that no loop is attached. `is_record`: it is a
    run's folder.
    """

    name: str
    profile: str
    settings: Guards
    facts: GuardFacts
    rows: Callable[[], Iterable[Sample | BadRow]]
    planned: tuple[PlannedFrom, ...] = ()
    no_loop: bool = False
    is_record: bool = False


def case_of_recording(
    recording: Recording, settings: Guards | None = None, profile: str = ""
) -> Case:
    """A recording under these settings, or the documented defaults."""
    known = recording.known
    facts = GuardFacts(
        cooled_by=_cooled_by(known),
        die_limit_c=known.limit_c,
        hotspot_limit_c=known.hotspot_limit_c,
        plan=None if known.plan is None else plan_of(known.plan),
        ambient_c=known.ambient_c,
        hotspot_seen=recording.has("hotspot_temp_c"),
    )
    return Case(recording.file, profile, settings or RECORDING_DEFAULTS, facts, recording.rows)


def _cooled_by(known: Known) -> CooledBy | None:
    """Of a recording, `cooling` goes before `has_fan`."""
    if known.cooling is not None:
        return CooledBy(known.cooling)
    if known.has_fan is not None:
        return CooledBy.FANS if known.has_fan else CooledBy.WATER
    return None


def case_of_record(record: Record, loaded: LoadedProfile | None = None) -> Case:
    """A record under its own profile's guards, or another's; raises RecordError.

    Whatever the profile: how the card was cooled, the steps of its sensors, whether its hot spot
    was read, what was planned, and that no loop was attached, are the run's own. Limits are the
    profile's: to judge by other limits is what another profile is named for.
    """
    run = record.run
    own = guards_of_run(record)
    spots = record.series.columns["hotspot_temp_c"]
    facts = GuardFacts(
        resolution=run.sensor_steps or Resolution(),
        cooled_by=None if own.cooling is None else CooledBy(own.cooling),
        hotspot_seen=any(spot is not None for spot in spots) if spots else None,
    )
    return Case(
        str(record.folder),
        run.profile.name if loaded is None else loaded.name,
        own if loaded is None else loaded.profile.guards,
        facts,
        record.samples,
        tuple(p for entry in record.events("LoadPlanned") if (p := _planned(entry)) is not None),
        no_loop=_no_loop(run.profile.text),
        is_record=True,
    )


def guards_of_run(record: Record) -> Guards:
    """The settings that the run's guards had; raises RecordError."""
    try:
        return Guards.model_validate_json(json.dumps(dict(record.run.guards)))
    except (ValidationError, ValueError) as error:
        raise RecordError(ReplayRefusal.NO_GUARDS(folder=str(record.folder))) from error


def _planned(entry: JournalEntry) -> PlannedFrom | None:
    """What a stage had planned; None where the line was torn by a cut."""
    steps, end_s = entry.detail.get("steps"), entry.detail.get("end_s")
    ends_s = finite(end_s)
    if not isinstance(steps, list) or ends_s is None or len(steps) > MOST_PLAN_STEPS:
        return None
    try:
        watts = tuple((float(start), float(power)) for start, power in steps)
        if not all(math.isfinite(number) for step in watts for number in step):
            return None
        plan = Plan(watts, ends_s) if watts else None
    except (ValueError, TypeError, OverflowError):
        return None
    return PlannedFrom(entry.elapsed_s, plan, ends_s if ends_s and not watts else None)


def _no_loop(profile_text: str) -> bool:
    """Whether the run's own profile said that no loop is attached, whatever its format."""
    try:
        stages = tomllib.loads(profile_text).get("stages")
    except (ValueError, RecursionError):
        return False
    plans = (
        stage.get("own_plan")
        for stage in (stages if isinstance(stages, list) else ())
        if isinstance(stage, Mapping)
    )
    return any(isinstance(plan, Mapping) and plan.get("no_loop") is True for plan in plans)
