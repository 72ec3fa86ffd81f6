"""How a run begins: its record's place, all that is known before the first stage, its plan."""

from __future__ import annotations

import platform
import secrets
from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

from burnin.card.capabilities import Card
from burnin.card.screens import screens_on
from burnin.core.clock import iso
from burnin.core.errors import RecordError
from burnin.core.identity import Identity, TemperatureLimits
from burnin.core.meaning import Source
from burnin.core.opening import EngineDescription, Opening, ProfileOpened
from burnin.core.proven_bench import BenchShown, NotProven, Slot
from burnin.core.reading import NotMeasured, known
from burnin.core.sample import Resolution
from burnin.core.ticket_header import Ticket, folder_name
from burnin.profile.loader import LoadedProfile
from burnin.run.bench import OpenBench, Options
from burnin.run.plan import Earlier, RunPlan
from burnin.run.proven.meanings import ProvenReason
from burnin.run.proven.shown import USUAL_AGE, ProofAge, bench_shown
from burnin.run.reasons import RunRefusal

_NOT_TOLD = NotMeasured(ProvenReason.BENCH_UNKNOWN())
_LIBRARIES = ("nvidia-ml-py", "wgpu", "cupy-cuda13x", "numpy")
"""Packages that read the card, work it, or judge what was read."""


def run_folder(results: Path, ticket: Ticket, moment: datetime) -> tuple[str, Path]:
    """A run id and the folder of its record: results/<ticket or date>/<run id>."""
    parent = folder_name(ticket.number) if ticket.number else moment.strftime("%Y-%m-%d")
    run_id = f"{moment.strftime('%Y%m%dT%H%M%SZ')}-{secrets.token_hex(2)}"
    return run_id, results / parent / run_id


def plan_run(
    opened: OpenBench,
    loaded: LoadedProfile,
    ticket: Ticket,
    options: Options,
    results: Path,
    age: ProofAge = USUAL_AGE,
) -> RunPlan:
    """A run that can be carried out, in a new folder under `results`; nothing is written yet.

    `age`: how long what known-good cards showed on this bench counts.
    """
    run_id, folder = run_folder(results, ticket, opened.clock.utc())
    opening = opening_of(opened, loaded, ticket, run_id, folder, options, age)
    return RunPlan(opening, loaded.profile, opened, folder, opened.clock.monotonic_s(),
                   earlier=Earlier())  # fmt: skip


def opening_of(
    opened: OpenBench,
    loaded: LoadedProfile,
    ticket: Ticket,
    run_id: str,
    folder: Path,
    options: Options,
    age: ProofAge = USUAL_AGE,
) -> Opening:
    """All that is known before the first stage, with the source of every value of the card.

    What the bench has shown is looked up two folders above the record's own.
    """
    engine = opened.engine
    card: Identity | None = opened.identity
    limits: TemperatureLimits | None = None
    steps: Resolution | None = None
    sources: Mapping[str, Source] = {}
    if card is not None:
        limits, steps = opened.card.temperature_limits(), opened.card.resolution()
        sources = opened.card.sources()
    return Opening(
        run_id=run_id,
        started_utc=iso(opened.clock.utc()),
        folder=str(folder),
        tool=tool_versions(),
        options=options_of(options),
        profile=profile_opened(loaded),
        guards=loaded.profile.guards.model_dump(),
        ticket=ticket,
        engine=(
            EngineDescription("none", "", "", engine.reason)
            if isinstance(engine, NotMeasured)
            else engine.description()
        ),
        card=card,
        card_absent=opened.no_card,
        bench={**opened.bench.description(), **whereabouts(opened.card)},
        temperature_limits=limits,
        sensor_steps=steps,
        sources=sources,
        simulated_scenario=opened.scenario,
        simulated_seed=options.seed if options.simulated else 0,
        bench_shown=shown_by(opened, folder.parent.parent, age),
    )


def shown_by(opened: OpenBench, results: Path, age: ProofAge) -> BenchShown:
    """What the slot of the opened card has shown; the simulated bench's own files say it there."""
    if opened.no_card is not None:
        return NotProven(ProvenReason.NO_CARD())
    slot = slot_of(opened)
    if opened.shown is not None:
        return replace(opened.shown, slot=slot)
    if opened.scenario:
        return NotProven(ProvenReason.SCENARIO_UNPROVEN(scenario=opened.scenario), slot)
    boot = known(opened.boot)
    return bench_shown(
        results, slot, opened.clock.utc(), boot.boot_id if boot is not None else None, age
    )


def whereabouts(card: Card) -> dict[str, str | NotMeasured]:
    """By what people tell the card from others of the bench: its slot, the screens on it."""
    position = card.position()
    slot = position if isinstance(position, NotMeasured) else position.slot_name
    return {"slot_name": slot, "screens": ", ".join(screens_on(card.outputs()))}


def slot_of(opened: OpenBench) -> Slot:
    """The slot that the opened card sits in, as far as it can be told from others."""
    position = opened.card.position()
    identity = known(opened.bench.description().get("bench_identity", _NOT_TOLD))
    port = "" if isinstance(position, NotMeasured) else position.port.address
    return Slot(port, identity or "")


def tool_versions() -> dict[str, str]:
    """Versions of this tool, of Python, and of the libraries that a result may hang on."""
    found = {"burnin": version("burnin"), "python": platform.python_version()}
    for name in _LIBRARIES:
        try:
            found[name] = version(name)
        except PackageNotFoundError:
            continue
    return found


def options_of(options: Options) -> dict[str, object]:
    """The options as a record keeps them."""
    return dict(vars(options))


def options_from(kept: Mapping[str, Any]) -> Options:
    """Options as a record kept them; raises RecordError where it was not this tool."""
    try:
        return Options(**kept)
    except TypeError as error:
        raise RecordError(RunRefusal.NO_OPTIONS(words=str(error))) from error


def profile_opened(loaded: LoadedProfile) -> ProfileOpened:
    """The profile as it was read, for the record."""
    return ProfileOpened(
        loaded.name, loaded.profile.title, Path(loaded.file).name, loaded.sha256, loaded.text
    )
