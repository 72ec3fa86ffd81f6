"""What a bench asks of a card: steps, ramps, bursts, memory and link work, rests, warm starts.

A load is a chain of pieces. Each piece asks for board power (W) rising or standing, at a level
that a controller holds or work alone sets, steadily or in bursts faster than any sensor.
Common practice, no source; the order of link, memory, compute, ramp is that of `whole_runs`,
where 405 W of memory work warmed the die by 0.4 to 0.8 of what compute work of that power did.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .network import FINE, STEP_S, Floats

STYLES = ("stairs", "ramp", "hold", "sudden", "bursts", "mixed", "shop")
STYLE_SHARES = (0.26, 0.16, 0.10, 0.12, 0.10, 0.13, 0.13)
LEAD_S = 5.0  # fine steps before the record begins, for sensors that look back


@dataclass(frozen=True)
class Piece:
    """A stretch of load: share of the top power from `begin` to `end`."""

    seconds: float
    begin: float
    end: float
    work: str = "compute"
    burst_s: float = 0.0
    duty: float = 1.0


@dataclass(frozen=True)
class Load:
    """A whole load, per fine step from -LEAD_S on; bursts are means over a step."""

    request_w: Floats
    planned_w: Floats
    die_share: Floats  # share of the nominal die share, per control step
    burst_s: Floats  # period of bursts, 0 where steady
    duty: Floats
    before_w: float
    before_s: float
    style: str


def _pieces(rng: np.random.Generator, style: str, total: float, idle: float) -> list[Piece]:
    def seconds(low: float, high: float) -> float:
        return total * float(rng.uniform(low, high))

    rest = Piece(float(rng.uniform(3.0, 12.0)), idle, idle, "rest")
    if style == "stairs":
        count = int(rng.integers(2, 7))
        levels = np.sort(rng.uniform(0.25, 1.0, count))
        levels[-1] = 1.0
        climb = float(rng.choice([0.0, 0.0, 2.0, 6.0]))
        found, last = [rest], idle
        for level in levels.tolist():
            found += [Piece(climb, last, level), Piece(seconds(0.5, 1.2) / count, level, level)]
            last = level
        return found
    if style == "ramp":
        return [rest, Piece(seconds(0.15, 0.6), max(idle, 0.1), 1.0), Piece(total, 1.0, 1.0)]
    if style == "hold":
        return [Piece(total * 2, 1.0, 1.0)]
    if style == "sudden":
        first = float(rng.uniform(0.0, 0.5))
        return [rest, Piece(seconds(0.1, 0.4), max(idle, first), max(idle, first)),
                Piece(total, 1.0, 1.0)]  # fmt: skip
    if style == "bursts":
        found = [rest]
        for _ in range(int(rng.integers(2, 5))):
            level = float(rng.uniform(0.45, 0.95))
            period = float(np.exp(rng.uniform(np.log(0.01), np.log(2.0))))
            period = round(period, 1) + 0.001 if rng.random() < 0.4 and period > 0.15 else period
            found.append(Piece(seconds(0.15, 0.4), level, level, "compute", period, level))
        return [*found, Piece(total, 0.9, 0.9, "compute", 0.1003, 0.9)]
    if style == "mixed":
        found = [rest]
        for _ in range(int(rng.integers(4, 10))):
            level = float(rng.uniform(0.2, 1.0))
            work = str(rng.choice(["compute", "memory", "link", "rest"], p=[0.5, 0.2, 0.15, 0.15]))
            level = {"rest": idle, "link": max(idle, 0.22)}.get(work, level)
            found.append(Piece(seconds(0.06, 0.2), level, level, work))
        return [*found, Piece(total, 1.0, 1.0)]
    found = [rest, Piece(seconds(0.02, 0.1), 0.2, 0.25, "link")]
    found += [Piece(seconds(0.04, 0.1), 0.57, 0.6, "memory"), Piece(3.0, 0.4, 0.4, "memory")]
    found += [Piece(seconds(0.05, 0.12), 0.75, 0.8), Piece(6.0, idle, idle, "rest")]
    for level in (0.3, 0.6) if rng.random() < 0.5 else (0.5, 0.8):
        found += [Piece(4.0, idle, level), Piece(seconds(0.08, 0.15), level, level)]
    return [*found, Piece(total, 1.0, 1.0)]


def _bursts(times: Floats, period: Floats, duty: Floats) -> Floats:
    """Give the mean of an on-off wave of mean 1 over each fine step that ends at `times`."""
    safe, on = np.where(period > 0.0, period, 1.0), np.clip(duty, 0.05, 1.0)

    def worked(at: Floats) -> Floats:
        whole, part = np.divmod(at, safe)
        result: Floats = (whole * on + np.minimum(part / safe, on)) * safe / on
        return result

    mean = (worked(times) - worked(times - STEP_S)) / STEP_S
    return np.where(period > 0.0, mean, 1.0)


def draw_load(
    rng: np.random.Generator, style: str, top_w: float, idle_w: float, held: bool, tail_s: float
) -> Load:
    """Draw a load of 60 to 400 s and `tail_s` more at its last level."""
    total = float(rng.choice([60.0, 90.0, 120.0, 180.0, 240.0, 300.0, 400.0]))
    total = min(400.0, max(60.0, total * float(rng.uniform(0.8, 1.2))))
    idle = idle_w / top_w
    pieces = _pieces(rng, style, total, idle)
    end = min(400.0, max(60.0, min(total, sum(p.seconds for p in pieces))))
    end = round(end / (STEP_S * FINE)) * STEP_S * FINE
    steps = round((end + LEAD_S + tail_s) / STEP_S)
    times: Floats = -LEAD_S + STEP_S * np.arange(1, steps + 1, dtype=np.float64)
    level, burst, duty = np.empty(steps), np.zeros(steps), np.ones(steps)
    share = np.ones(steps)
    at, last = 0.0, pieces[0].begin
    level[:], kinds = last, {"memory": float(rng.uniform(0.4, 0.8)), "link": 0.8}
    for piece in pieces:
        if piece.seconds <= 0.0:
            continue
        mask = times > at
        part = np.clip((times[mask] - at) / piece.seconds, 0.0, 1.0)
        level[mask] = piece.begin + (piece.end - piece.begin) * part
        burst[mask], duty[mask] = piece.burst_s, piece.duty
        share[mask] = kinds.get(piece.work, 1.0)
        at, last = at + piece.seconds, piece.end
    under_load = style == "hold" or rng.random() < 0.15
    warm = rng.random() < 0.35
    before = float(rng.uniform(0.3, 1.0)) if warm or under_load else idle
    if under_load:
        # the record begins in the middle of work that was going on already
        before = level[times > 0.0][0] = max(before, float(level[times > 0.0][0]))
        skip = round(float(rng.uniform(2.0, 12.0)) / STEP_S)
        first = round(LEAD_S / STEP_S)
        level[first : first + skip] = np.maximum(level[first : first + skip], before)
    level[times <= 0.0] = before if under_load else idle
    planned: Floats = level * top_w
    # how far the work misses its plan: held to a few parts in a hundred, else freely
    miss = float(rng.normal(1.0, 0.012 if held else 0.07))
    spread = float(rng.uniform(0.005, 0.03)) if held else float(rng.uniform(0.005, 0.05))
    raw = rng.normal(0.0, 1.0, steps // 10 + 2)
    noise: Floats = np.interp(np.arange(steps), np.arange(len(raw)) * 10.0, raw) * spread
    busy = level > idle * 1.02
    request = planned * np.where(busy, miss * (1.0 + noise), 1.0) * _bursts(times, burst, duty)
    return Load(
        request_w=np.maximum(request, idle_w * 0.8), planned_w=planned, die_share=share[::FINE],
        burst_s=burst, duty=duty, before_w=before * top_w,
        before_s=float(rng.uniform(20.0, 240.0)) if warm or under_load else 60.0, style=style,
    )  # fmt: skip
