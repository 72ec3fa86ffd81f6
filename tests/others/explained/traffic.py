"""A look at the link under traffic: what trains, what errs, what the registers then say.

Error rates: a lane's bit error rate is 10 to the minus decades of margin; a sound lane has more
decades than 12 (PCI Express Base: at most 1e-12). How decades shrink with the rate is an estimate.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tests.others.explained.bench import Bench
from tests.others.explained.cases import ColdStart, Look
from tests.others.explained.edge import LANES, SIDES, width_of
from tests.others.explained.effects import SHARE_OF_LOSS, SOUND_DECADES, Effects

Rng = np.random.Generator
RATE_GTS = {1: 2.5, 2: 5.0, 3: 8.0, 4: 16.0, 5: 32.0}
EQUALISES_FROM = 6.5
"""Decades below which equalisation does not end well (estimate)."""
NO_RECEIVER = 30.0
MOST_COUNTED = 200_000


@dataclass(frozen=True)
class Trained:
    """A link that came up, or width 0; `from_top` on the lanes from 15 down."""

    width: int
    generation: int
    from_top: bool = False


def _decades(bench: Bench, effects: Effects, generation: int) -> np.ndarray:
    """Decades of margin, shape (2, 16): side A (the port receives), side B (the card receives)."""
    decades = np.full((2, LANES), SOUND_DECADES[generation] + bench.margin)
    share = SHARE_OF_LOSS[generation]
    for at, side in enumerate(SIDES):
        decades[at] -= share * effects.everywhere[1 if side == "A" else 0]
    for (side, lane), loss in effects.loss.items():
        decades[SIDES.index(side), lane] -= share * loss
    return decades


def _dead(effects: Effects) -> set[int]:
    return {lane for (_, lane), loss in effects.loss.items() if loss >= NO_RECEIVER}


def _lanes_in_use(width: int, top: bool) -> list[int]:
    return list(range(LANES - width, LANES)) if top else list(range(width))


def _unfit(bench: Bench, effects: Effects, lanes: list[int], generation: int) -> set[int]:
    """Lanes that do not reach the generation."""
    decades = _decades(bench, effects, generation)
    low = {lane for lane in lanes if generation >= 3 and decades[:, lane].min() < EQUALISES_FROM}
    return low | {
        lane for (_, lane), most in effects.ceiling.items() if lane in lanes and most < generation
    }


def train(bench: Bench, effects: Effects) -> Trained:
    """Width and generation after a start, in whichever direction the port numbers lanes."""
    if effects.absent:
        return Trained(0, 0)
    all_wired = min(bench.most_width, effects.width_cap) == LANES
    usual = _train_one_way(bench, effects, bench.from_top and all_wired)
    if not (bench.can_reverse and all_wired):
        return usual
    return max(usual, _train_one_way(bench, effects, True), key=lambda link: link.width)


def _train_one_way(bench: Bench, effects: Effects, top: bool) -> Trained:
    """Training on lanes from one end. Narrowing for the rate's sake is the host's habit."""
    most = min(bench.most_width, effects.width_cap)
    dead = _dead(effects)
    generation = min(bench.most_generation, effects.generation_cap)
    width = width_of(dead, bench.widths, most, top)
    while width and generation > 1:
        unfit = _unfit(bench, effects, _lanes_in_use(width, top), generation)
        if not unfit:
            break
        narrower = width_of(dead | unfit, bench.widths, most, top)
        if bench.narrows and narrower:
            dead, width = dead | unfit, narrower
        else:
            generation -= 1
    return Trained(width, generation, top)


def cold_start(bench: Bench, effects: Effects, rng: Rng) -> ColdStart:
    """One start; a contact that comes and goes does so from start to start."""
    trained = train(bench, effects)
    if not trained.width or rng.random() > effects.comes_up:
        return ColdStart(False, None, None)
    width = trained.width
    if effects.shared_lanes and rng.random() < effects.shared_lanes:
        width = min(width, 8)
    return ColdStart(True, width, trained.generation)


def errors_per_s(
    bench: Bench, effects: Effects, trained: Trained
) -> tuple[list[int], np.ndarray]:
    """Lanes in use and their errors a second by side, shape (2, lanes)."""
    lanes = _lanes_in_use(trained.width, trained.from_top)
    decades = _decades(bench, effects, trained.generation)[:, lanes]
    bits_per_s = RATE_GTS[trained.generation] * 1e9 * 0.8
    return lanes, bits_per_s * 10.0 ** -np.clip(decades, 3.5, 40)


def _errors(
    bench: Bench, effects: Effects, trained: Trained, seconds: float, rng: Rng
) -> tuple[np.ndarray, float]:
    """Errors by side and lane, shape (2, 16), and the rate of the worst end in errors a second."""
    lanes, per_s = errors_per_s(bench, effects, trained)
    found = np.zeros((2, LANES))
    found[:, lanes] = rng.poisson(np.minimum(per_s * seconds, 1e7))
    return found, float(per_s.sum(axis=1).max())


def look(bench: Bench, effects: Effects, warm: bool, rng: Rng, known_good: bool = False) -> Look:
    """One stage of one to five minutes under traffic."""
    trained = train(bench, effects)
    seconds = float(rng.uniform(60, 300))
    top = trained.generation
    found = np.zeros((2, LANES))
    bits = np.zeros((2, LANES), dtype=bool)
    generation = trained.generation
    while True:
        here = Trained(trained.width, generation, trained.from_top)
        errors, per_s = _errors(bench, effects, here, seconds, rng)
        gives_up = per_s > bench.gives_up_per_s and generation > 1
        if gives_up:
            burst_s = float(rng.uniform(0.05, 2))
            errors, _ = _errors(bench, effects, here, burst_s, rng)
        found += errors
        if generation >= 3:
            bits |= rng.random(bits.shape) < 1 - np.exp(-0.6 * errors)
        if not gives_up:
            break
        generation -= 1
    lowered = _admits(bench, effects, trained, fell=generation < top)
    return _told(bench, effects, trained, generation, found, bits, lowered, warm, seconds, rng)


def _admits(bench: Bench, effects: Effects, trained: Trained, fell: bool) -> float:
    """How likely the port's managed bit is: a change under way sets it, a lane never found not."""
    if fell:
        return bench.says_managed
    if trained.generation < min(bench.most_generation, effects.generation_cap):
        return 0.5 * bench.says_managed
    narrow = trained.width < min(bench.most_width, effects.width_cap)
    return 0.15 * bench.says_managed if narrow else 0.01


def _told(
    bench: Bench, effects: Effects, trained: Trained, generation: int, found: np.ndarray,
    bits: np.ndarray, lowered: float, warm: bool, seconds: float, rng: Rng,
) -> Look:  # fmt: skip
    """The look as registers and counters tell it."""
    minutes = seconds / 60
    sums = {"port": float(found[0].sum()), "card": float(found[1].sum())}
    at_card, at_port = sums["card"], sums["port"]
    counted = [
        at_card + rng.poisson(bench.coughs * at_port),
        at_port + rng.poisson(bench.coughs * at_card),
    ]
    for end in (0, 1):
        burst = rng.poisson(effects.bursts_per_min[end] * minutes)
        counted[end] += burst + rng.poisson(bench.noise_per_min[end] * minutes)
        if burst and trained.generation >= 3:
            lanes = _lanes_in_use(trained.width, trained.from_top)
            bits[1 - end, lanes] |= rng.random(trained.width) < 0.7
    errors: list[int | None] = [int(min(n, MOST_COUNTED)) for n in counted]
    for end in (0, 1):
        if bench.masked[end]:
            errors[end] = None if bench.masked_as_null else 0
    stuck = [set(bench.stuck[0]), set(bench.stuck[1])]
    before = [sorted(lane for lane in stuck[end]) for end in (0, 1)]
    after: list[list[int]] = []
    for end, side in ((0, "B"), (1, "A")):
        here = {int(lane) for lane in np.flatnonzero(bits[SIDES.index(side)])}
        if end == 1 and bench.mirrored_bits:
            here = {LANES - 1 - lane for lane in here}
        if here and rng.random() < 0.35:
            early = sorted(set(before[end]) | here)
            before[end] = early
        after.append(sorted(set(before[end]) | here))
    slow = generation
    if effects.slow_at_times:
        slow = int(rng.integers(1, max(2, generation)))
    card_lanes = bench.card_bits
    slot = bench.slot_lanes if bench.tells_slot else 16
    target = bench.generation
    if effects.told_cap:
        target = min(target, effects.generation_cap)
    width = trained.width
    if effects.shared_lanes and rng.random() < effects.shared_lanes:
        width = min(width, 8)
    return Look(
        stage="7-link" if warm else "3-link",
        warm=warm,
        most_width=min(slot, bench.card_width),
        most_generation=bench.most_generation,
        width=width,
        generation=slow,
        top_generation=trained.generation,
        idle_width=width,
        errors=(errors[0], errors[1]),
        lanes_before=(before[0] if card_lanes else None, before[1]),
        lanes_after=(after[0] if card_lanes else None, after[1]),
        managed=bool(rng.random() < lowered),
        target_generation=target,
    )
