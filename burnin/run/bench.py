"""From options to a run that can begin: the bench opened, a card picked, an engine at hand."""

from __future__ import annotations

import platform
import secrets
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import burnin
from burnin.card.card import Bench, Card, Identity
from burnin.core.clock import Clock, WallClock, iso
from burnin.core.errors import BadInput, EngineUnavailable, NoCard
from burnin.core.reading import NotMeasured, known
from burnin.engine.engine import Engine, EngineDescription
from burnin.profile.loader import LoadedProfile
from burnin.record.ticket_header import Ticket, folder_name
from burnin.record.writer import plain
from burnin.stages.cold_starts.start_log import NOBODY_ASKED, Boot, read_boot


@dataclass(frozen=True)
class Options:
    """What the technician asked for on the command line."""

    simulated: str = ""
    seed: int = 1
    pace: float = 0.0
    address: str = ""
    engine: str = ""
    software_vulkan: bool = False


@dataclass(frozen=True)
class OpenBench:
    """A bench with one card picked and the engine that works it.

    `no_card_reason` is set where software works the bench's processor instead of a card;
    `attached` names the outputs with a monitor as the simulated machine's scenario has them.
    """

    bench: Bench
    card: Card
    identity: Identity | None
    cards_found: int
    engine: Engine | NotMeasured
    clock: Clock
    other_cards: tuple[Card, ...] = ()
    no_card_reason: str = ""
    scenario: str = ""
    attached: frozenset[str] | None = None
    boot: Boot | NotMeasured = NOBODY_ASKED


@dataclass(frozen=True)
class _NoNumbers:
    """In the place of a card's numbers where there is no card."""

    address: str = ""
    vendor_id: int = 0
    device_id: int = 0


def open_bench_for(options: Options) -> OpenBench:
    """Open the real bench or the simulated machine; raises NoCard with what to do about it."""
    if options.simulated:
        return _open_simulated(options)
    from burnin.card.combined import open_bench
    from burnin.card.files import HostFiles

    bench = open_bench(HostFiles(), with_nvml=True)
    if options.software_vulkan:
        return _open_software(bench, options)
    cards = bench.cards()
    card = pick(cards, options.address)
    identity = card.identity()
    return OpenBench(
        bench,
        card,
        identity,
        len(cards),
        _engine_for(identity, options),
        WallClock(),
        other_cards=tuple(c for c in cards if c is not card),
        boot=read_boot(HostFiles()),
    )


def _engine_for(identity: Identity, options: Options) -> Engine | NotMeasured:
    from burnin.engine.choose import open_engine

    try:
        return open_engine(identity, options.engine or None, software=False)
    except EngineUnavailable as error:
        if options.engine:
            raise
        return NotMeasured(str(error))


def _open_software(bench: Bench, options: Options) -> OpenBench:
    from burnin.card.absent import AbsentCard
    from burnin.engine.choose import open_engine

    engine = open_engine(_NoNumbers(), options.engine or None, software=True)
    reason = "software Vulkan works the bench's processor: no graphics card takes part"
    return OpenBench(
        bench, AbsentCard(reason), None, 0, engine, WallClock(), no_card_reason=reason
    )


def _open_simulated(options: Options) -> OpenBench:
    from burnin.card.combined import open_bench
    from burnin.sim.bench import simulated_bench

    if options.engine or options.software_vulkan:
        raise BadInput(
            "the simulated machine brings its own engine: leave --engine and "
            "--software-vulkan out"
        )
    bundle = simulated_bench(options.simulated, options.seed, options.pace or None)
    bench = open_bench(bundle.files, with_nvml=False, simulated=True)
    cards = bench.cards()
    card = pick(cards, options.address)
    return OpenBench(
        bench,
        card,
        card.identity(),
        len(cards),
        bundle.engine,
        bundle.clock,
        scenario=bundle.label,
        attached=frozenset(o.name for o in bundle.machine.scenario.card.outputs if o.monitor),
        boot=read_boot(bundle.files),
    )


def pick(cards: tuple[Card, ...], address: str) -> Card:
    """The card at an address, or the only one; raises NoCard or BadInput in plain words."""
    if not cards:
        raise NoCard(
            "No graphics card on this bench: no PCI device of class display or processing "
            "accelerator.\nIs the card seated and its power plugged in? `burnin cards` lists what "
            "there is; `--simulated healthy` runs on the simulated machine, `--software-vulkan` "
            "tries the memory and compute stages on this computer's own processor."
        )
    if address:
        wanted = address if address.count(":") == 2 else f"0000:{address}"
        for card in cards:
            if card.identity().address.lower() == wanted.lower():
                return card
        found = ", ".join(c.identity().address for c in cards)
        raise BadInput(f"no card at {address}; there are: {found}")
    if len(cards) > 1:
        found = ", ".join(card_text(c.identity()) for c in cards)
        raise BadInput(f"{len(cards)} cards on this bench, say which with --card ADDRESS: {found}")
    return cards[0]


def card_text(identity: Identity) -> str:
    """A card on one line: name, ids, address, memory."""
    name = known(identity.name)
    ids = f"{identity.vendor_id:04x}:{identity.device_id:04x}"
    memory = known(identity.memory_bytes)
    size = f", {memory / (1 << 30):.0f} GiB" if memory else ""
    return f"{name} ({ids}) at {identity.address}{size}" if name else f"{ids} at {identity.address}"


def run_folder(results: Path, ticket: Ticket, moment: datetime) -> tuple[str, Path]:
    """A run id and the folder of its record: results/<ticket or date>/<run id>."""
    parent = folder_name(ticket.number) if ticket.number else moment.strftime("%Y-%m-%d")
    run_id = f"{moment.strftime('%Y%m%dT%H%M%SZ')}-{secrets.token_hex(2)}"
    return run_id, results / parent / run_id


def standing_facts(loaded: LoadedProfile, options: Options, scenario: str) -> dict[str, object]:
    """Facts that hold whether or not a card is found: what is asked for, with what tool."""
    return {
        "format": 1,
        "simulated": bool(options.simulated),
        "simulated_scenario": scenario or None,
        "simulated_seed": options.seed if options.simulated else None,
        "options": plain(options),
        "tool": {"burnin": burnin.__version__, "python": platform.python_version()},
        "profile": {
            "name": loaded.name,
            "title": loaded.profile.title,
            "file": Path(loaded.file).name,
            "sha256": loaded.sha256,
            "text": loaded.text,
        },
        "guards": loaded.profile.guards.model_dump(),
        "ended_utc": "",
        "stages": [],
        "verdict": "incomplete",
        "ended": "",
        "owed": [],
    }


def facts_of(
    opened: OpenBench,
    loaded: LoadedProfile,
    ticket: Ticket,
    run_id: str,
    folder: Path,
    options: Options,
) -> dict[str, object]:
    """All that is known before the first stage: what run.json opens with."""
    identity = opened.identity
    engine = opened.engine
    description = (
        EngineDescription("none", "", "", engine.reason)
        if isinstance(engine, NotMeasured)
        else engine.description()
    )
    return standing_facts(loaded, options, opened.scenario) | {
        "run_id": run_id,
        "started_utc": iso(opened.clock.utc()),
        "card": plain(identity) if identity else None,
        "card_text": card_text(identity) if identity else opened.no_card_reason,
        "bench": opened.bench.description(),
        "engine": plain(description),
        "ticket": plain(ticket),
        "temperature_limits": plain(opened.card.temperature_limits()),
        "sensor_steps": plain(opened.card.resolution()),
        "folder": str(folder),
        "reason": "the run has not come to its end",
    }
