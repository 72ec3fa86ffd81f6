"""Cases of link and edge: looks cold and warm, starts, a known-good card, ticket and meter."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from tests.others.explained.bench import Bench, draw_bench
from tests.others.explained.cases import VISIBILITIES, Case, ColdStart, Fault, Look, Seen, Truth
from tests.others.explained.effects import Effects, effects_of
from tests.others.explained.link_faults import draw_fault, draw_second, stays_on_bench
from tests.others.explained.meter import draw_readings
from tests.others.explained.supply import draw_plug, draw_supply, supply_shows
from tests.others.explained.tickets import draw_ticket
from tests.others.explained.traffic import cold_start, errors_per_s, look, train

Rng = np.random.Generator
SOUND_SHARE = 0.3
ERRS_WITHIN_S = 200.0


@dataclass(frozen=True)
class Scene:
    """Bench and faults with what they do cold, warm, and to a known-good card."""

    bench: Bench
    faults: tuple[Fault, ...]
    cold: Effects
    warm: Effects
    bench_only: Effects
    alone: tuple[Effects, ...] = ()


def scene_of(bench: Bench, faults: tuple[Fault, ...], rng: Rng) -> Scene:
    """What these faults do on that bench."""
    cold, warm, only = Effects(), Effects(), Effects()
    alone = []
    for fault in faults:
        here = effects_of(bench, fault, rng)
        if fault.kind == "presence" and bench.watches_presence:
            here = here.joined(Effects(absent=True))
        alone.append(here)
        warm = warm.joined(here)
        if not fault.warm_only:
            cold = cold.joined(here)
        if stays_on_bench(fault):
            only = only.joined(here)
    return Scene(bench, faults, cold, warm, only, tuple(alone))


def both_show(scene: Scene) -> bool | None:
    """Whether each of two faults changes what the other alone would show; None of fewer."""
    if len(scene.alone) < 2:
        return None
    bench, warm = scene.bench, scene.warm
    if warm.absent or not train(bench, warm).width:
        return False
    trained = train(bench, warm)
    _, per_s = errors_per_s(bench, warm, trained)
    for other in scene.alone[::-1]:
        if train(bench, other) != trained or other.lost != warm.lost:
            continue
        _, left = errors_per_s(bench, other, trained)
        if ((per_s - left) * ERRS_WITHIN_S).sum() <= 1:
            return False
    return True


def _gone(told: Look) -> Look:
    """A look during which the card left the bus."""
    return replace(told, width=None, generation=None, top_generation=None, idle_width=None)


def _hidden(told: Look, bench: Bench, visibility: str) -> Look:
    """The look with what this visibility can't read left out."""
    if visibility in ("no_root", "neither"):
        told = replace(
            told,
            most_width=told.most_width if bench.setup_tells_slot else bench.card_width,
            most_generation=bench.most_generation
            if bench.setup_tells_slot
            else bench.card_generation,
            errors=(told.errors[0], None),
            lanes_before=(told.lanes_before[0], None),
            lanes_after=(told.lanes_after[0], None),
            managed=None,
            target_generation=None,
        )
    if visibility in ("no_counters", "neither"):
        told = replace(told, errors=(None, None))
    return told


def looks_of(scene: Scene, visibility: str, rng: Rng) -> tuple[tuple[Look, ...], bool]:
    """The looks, and whether the card left the bus."""
    looks: list[Look] = []
    states = [(scene.cold, False), (scene.warm, True)]
    if rng.random() < 0.15 and not any(fault.warm_only for fault in scene.faults):
        states = states[:1]
    for effects, warm in states:
        if not train(scene.bench, effects).width:
            break
        fallen = looks[-1].generation if looks and not effects.slow_at_times else None
        if scene.bench.stays_fallen and fallen is not None:
            effects = replace(effects, generation_cap=min(fallen, effects.generation_cap))
        told = look(scene.bench, effects, warm, rng)
        told = _gone(told) if effects.lost else told
        looks.append(_hidden(told, scene.bench, visibility))
        if effects.lost:
            return tuple(looks), True
    return tuple(looks), False


def _errors_seen(bench: Bench, visibility: str, generation: int) -> tuple[bool, bool]:
    """Whether errors of side A (at the port) and side B (at the card) can be seen at all."""
    counters = visibility in ("all", "no_root")
    root = visibility in ("all", "no_counters")
    bits = generation >= 3
    at_port = root and (bits or (counters and not bench.masked[1]))
    return at_port, (bits and bench.card_bits) or (counters and not bench.masked[0])


def shows(scene: Scene, visibility: str) -> bool:
    """Whether the faults change what this bench can see at all."""
    sound = train(scene.bench, Effects())
    for effects in (scene.cold, scene.warm):
        plainly = (
            effects.absent or effects.lost or effects.slow_at_times or effects.comes_up < 1
            or effects.shared_lanes or any(effects.bursts_per_min)
        )  # fmt: skip
        trained = train(scene.bench, effects)
        if plainly or trained != sound or not trained.width:
            return True
        _, per_s = errors_per_s(scene.bench, effects, trained)
        if per_s.sum(axis=1).max() > scene.bench.gives_up_per_s:
            return True
        seen = np.array(_errors_seen(scene.bench, visibility, trained.generation))
        if per_s[seen].sum() * ERRS_WITHIN_S > 1:
            return True
    return False


def _starts(scene: Scene, absent: bool, rng: Rng) -> tuple[ColdStart, ...]:
    count = int(rng.choice([0, 1, 3, 5, 10], p=[0.35, 0.15, 0.25, 0.15, 0.1]))
    if absent:
        count = max(count, 1)
    return tuple(cold_start(scene.bench, scene.cold, rng) for _ in range(count))


def seen_of(
    scene: Scene, visibility: str, rng: Rng
) -> tuple[Seen, tuple[str, ...]]:
    """What the bench saw, and the nuisances that came with it."""
    looks, lost = looks_of(scene, visibility, rng)
    absent = not looks
    faults = list(scene.faults)
    ticket, elsewhere = draw_ticket(faults, rng)
    good: tuple[Look, ...] = ()
    if rng.random() < 0.33 and train(scene.bench, scene.bench_only).width:
        bench = replace(scene.bench, card_width=16)
        good = tuple(
            _hidden(look(bench, scene.bench_only, warm, rng), bench, visibility)
            for warm in (False, True)[: int(rng.integers(1, 3))]
        )
    beeps = None
    if absent and not scene.bench.has_other_screen and rng.random() < 0.7:
        beeps = int(rng.choice([3, 5, 8]))
    seen = Seen(
        looks=looks,
        cold_starts=_starts(scene, absent, rng),
        known_good=good,
        absent=absent,
        lost=lost,
        beeps=beeps,
        before_power=draw_readings(faults, [*ticket.damaged, *ticket.repaired], rng),
        ticket=ticket,
    )
    odd = (*scene.bench.nuisance, "ticket elsewhere") if elsewhere else scene.bench.nuisance
    return seen, odd


def draw_link_case(rng: Rng) -> Case:
    """One case; three in ten are sound."""
    bench = draw_bench(rng)
    visibility = VISIBILITIES[int(rng.integers(4))]
    faults: tuple[Fault, ...] = ()
    if rng.random() >= SOUND_SHARE:
        first = draw_fault(bench, rng)
        second = draw_second(bench, first, rng)
        faults = (first,) if second is None else (first, second)
    scene = scene_of(bench, faults, rng)
    seen, odd = seen_of(scene, visibility, rng)
    plug = draw_plug(rng)
    supplied = any(fault.kind == "supply contact" for fault in faults)
    hidden = True
    if seen.looks and rng.random() < (0.8 if supplied else 0.08):
        supply = draw_supply(plug, faults[0] if faults else None, rng)
        seen = replace(seen, supply=supply)
        hidden = not supply_shows(plug, faults[0] if faults else None, supply)
    second_fault = faults[1] if len(faults) > 1 else None
    named = {name for fault in faults for name in fault.contacts}
    by_meter = any(reading.point in named for reading in seen.before_power)
    shown = bool(faults) and (shows(scene, visibility) or not hidden or by_meter)
    first_fault = faults[0] if faults else Fault("sound")
    details = {"absent": seen.absent, "both_show": both_show(scene)}
    truth = Truth(first_fault, second_fault, odd, shown, details)
    return Case("link", visibility, seen, truth)
