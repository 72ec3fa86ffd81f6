"""Scenarios of the evaluation: eight kinds of cooling, drawn with a seed.

A plan is one that the same card without its fault holds with `MARGIN_K` to spare: plans are made
for a class of cards. Nothing here knows the guard.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from tests.evaluation.physics import Array, CardHeat, Heat

KINDS = (
    "healthy air",
    "healthy loop",
    "no coolant",
    "flow lost",
    "fan lost",
    "poor mount",
    "missing paste under the hot spot",
    "clogged",
)
RUN_S = 300.0
ROW_S = 0.1
MARGIN_K = 5.0
WATER_J_PER_ML_K = 4.186


@dataclass(frozen=True)
class Setting:
    """What is known of one scenario from outside, and its sensors' true faults."""

    kind: str
    plan: tuple[tuple[float, float], ...]
    limit_c: float
    hotspot_limit_c: float | None
    ambient_c: float | None
    has_fan: bool
    shows_rpm: bool
    fault_at_s: float
    bias_k: float
    lag_s: float
    noise_k: float
    floors: bool
    idle_w: float
    warm_k: float
    power_gain: float
    stop_latency_s: float

    def watts(self, time_s: Array) -> Array:
        """Planned power at each time."""
        starts = np.array([s for s, _ in self.plan])
        levels = np.array([self.idle_w, *[w for _, w in self.plan]])
        watts: Array = levels[np.searchsorted(starts, time_s + 1e-9, side="right")]
        return watts


def _plan(rng: np.random.Generator, top_w: float) -> tuple[tuple[float, float], ...]:
    """One to four steps of 100 W to `top_w`; with several, the first is mostly a gentle one."""
    steps = int(rng.choice([1, 2, 3, 4], p=[0.1, 0.25, 0.35, 0.3]))
    levels = rng.uniform(100.0, top_w, steps)
    if steps > 1 and rng.random() < 0.75:
        levels[0] = rng.uniform(100.0, 260.0)
    if rng.random() < 0.85:
        levels = np.sort(levels)
    begin = 0.0 if rng.random() < 0.5 else float(rng.uniform(3.0, 12.0))
    starts = begin + np.concatenate([[0.0], np.cumsum(rng.uniform(20.0, 70.0, steps - 1))])
    return tuple((round(float(s), 1), round(float(w))) for s, w in zip(starts, levels, strict=True))


def _card(rng: np.random.Generator, kind: str, air: bool) -> dict[str, float]:
    u = rng.uniform
    die_block = u(0.04, 0.10)
    split = u(0.3, 0.6)
    water_ml = u(40.0, 120.0)
    c: dict[str, float] = {
        "room_c": u(15.0, 35.0),
        "die_share": u(0.75, 0.92),
        "die_j_per_k": u(1.2, 4.0),
        "lid_j_per_k": u(6.0, 21.0),
        "board_j_per_k": u(120.0, 350.0),
        "die_lid_k_per_w": die_block * split,
        "lid_base_k_per_w": die_block * (1.0 - split),
        "base_body_k_per_w": u(0.008, 0.025) if air else u(0.004, 0.010),
        "board_base_w_per_k": u(1.0, 3.0),
        "board_room_w_per_k": u(0.3, 1.0),
        "hotspot_k_per_w": u(7.0, 15.0) / 400.0,
        "is_air": float(air),
        "still_air_w_per_k": u(0.5, 1.2) if air else u(0.2, 0.65),
        "fan_w_per_k": 0.0,
        "fan_exponent": u(0.5, 0.8),
        "fan_max_rpm": u(2000.0, 3600.0),
        "fan_on_c": 40.0,
        "fan_full_c": u(74.0, 88.0),
        "fan_least_share": u(0.25, 0.4),
        "fan_stops_at_all": 0.0,
        "fan_lost_at_s": np.inf,
        "block_water_j_per_k": water_ml * WATER_J_PER_ML_K,
        "loop_water_j_per_k": u(2000.0, 5000.0),
        "block_water_w_per_k": 0.0,
        "flow_w_per_k": 0.0,
        "stagnant_w_per_k": u(0.2, 1.5),
        "radiator_w_per_k": 1.0 / u(0.03, 0.06),
        "flow_lost_at_s": np.inf,
    }
    total = u(350.0, 800.0) if air else u(180.0, 450.0)
    base_part = u(0.25, 0.5)
    c["base_j_per_k"], c["body_j_per_k"] = total * base_part, total * (1.0 - base_part)
    if air:
        at_three_quarters = 1.0 / u(0.06, 0.13)
        c["fan_w_per_k"] = at_three_quarters / 0.75 ** c["fan_exponent"]
        if rng.random() < 0.6:
            c["fan_stops_at_all"], c["fan_on_c"] = 1.0, u(50.0, 60.0)
    else:
        wet = 1.0 / u(0.02, 0.05)
        c["block_water_w_per_k"], c["flow_w_per_k"] = wet * 1.5, wet * 3.0
    return c


def _spoil(rng: np.random.Generator, kind: str, c: dict[str, float]) -> float:
    """Puts the fault into the card; the time at which it begins (inf: healthy).

    A fault is what lies outside the range of good cards: die to block 0.14 K/W and more (good:
    0.04 to 0.10), block to air 0.22 and more (0.06 to 0.13), block to coolant 0.12 and more (0.02
    to 0.05), coolant to room 0.14 and more (0.03 to 0.06), hot spot 3 to 8 times its good value.
    """
    u = rng.uniform
    if kind == "no coolant":
        trapped_ml = u(0.0, 60.0) if rng.random() < 0.5 else 0.0
        c["body_j_per_k"] += trapped_ml * WATER_J_PER_ML_K
        c["block_water_w_per_k"] = c["flow_w_per_k"] = c["stagnant_w_per_k"] = 0.0
        return 0.0
    if kind == "flow lost":
        at_s = 0.0 if rng.random() < 0.25 else u(20.0, 220.0)
        c["flow_lost_at_s"] = at_s
        return at_s
    if kind == "fan lost":
        at_s = 0.0 if rng.random() < 0.25 else u(20.0, 220.0)
        c["fan_lost_at_s"] = at_s
        return at_s
    if kind == "poor mount":
        total = float(np.exp(u(np.log(0.14), np.log(0.40))))
        die_part = u(0.1, 0.4)
        c["die_lid_k_per_w"] = max(c["die_lid_k_per_w"], total * die_part)
        c["lid_base_k_per_w"] = max(c["lid_base_k_per_w"], total - c["die_lid_k_per_w"])
        return 0.0
    if kind.startswith("missing paste"):
        c["hotspot_k_per_w"] *= u(3.0, 8.0)
        return 0.0
    if kind == "clogged":
        if c["is_air"] > 0.5:
            at_three_quarters = 1.0 / u(0.22, 0.70)
            c["fan_w_per_k"] = at_three_quarters / 0.75 ** c["fan_exponent"]
        elif rng.random() < 0.7:
            c["flow_w_per_k"] = 1.0 / u(0.12, 0.40)
        else:
            c["radiator_w_per_k"] = 1.0 / u(0.14, 0.40)
        return 0.0
    return float("inf")


def steady_die_c(c: dict[str, float], power_w: float) -> float:
    """Die at rest under `power_w`, fan curve included (a healthy card)."""
    base_body = c["base_body_k_per_w"]
    chip = c["die_share"] * (c["die_lid_k_per_w"] + c["lid_base_k_per_w"]) * power_w
    if c["is_air"] < 0.5:
        wet = 1.0 / c["block_water_w_per_k"] + 1.0 / c["flow_w_per_k"]
        return c["room_c"] + chip + power_w * (base_body + wet + 1.0 / c["radiator_w_per_k"])
    low, high = c["room_c"], 400.0
    for _ in range(40):
        die = 0.5 * (low + high)
        part = min(1.0, max(0.0, (die - c["fan_on_c"]) / (c["fan_full_c"] - c["fan_on_c"])))
        share = c["fan_least_share"] + (1.0 - c["fan_least_share"]) * part
        if c["fan_stops_at_all"] > 0.5 and die < c["fan_on_c"]:
            share = 0.0
        loss = c["still_air_w_per_k"] + c["fan_w_per_k"] * share ** c["fan_exponent"]
        if c["room_c"] + chip + power_w * (base_body + 1.0 / loss) > die:
            low = die
        else:
            high = die
    return die


def _draw(rng: np.random.Generator, kind: str) -> tuple[Setting, dict[str, float]]:
    air = {"healthy air": True, "fan lost": True}.get(
        kind, False if kind in {"healthy loop", "no coolant", "flow lost"} else rng.random() < 0.5
    )
    while True:
        c = _card(rng, kind, air)
        plan = _plan(rng, 500.0)
        limit_c = round(float(rng.uniform(80.0, 105.0)))
        shows_spot = kind.startswith("missing") or rng.random() < 0.7
        spot_limit_c = limit_c + round(float(rng.uniform(8.0, 20.0)))
        top_w = 1.04 * max(w for _, w in plan)
        rest_c = steady_die_c(c, top_w)
        spot_c = rest_c + c["hotspot_k_per_w"] * c["die_share"] * top_w
        if rest_c < limit_c - MARGIN_K and spot_c < spot_limit_c - MARGIN_K:
            break
    fault_at_s = _spoil(rng, kind, c)
    room_error = float(rng.normal(0.0, 0.7))
    setting = Setting(
        kind=kind,
        plan=plan,
        limit_c=limit_c,
        hotspot_limit_c=spot_limit_c if shows_spot else None,
        ambient_c=round(c["room_c"] + room_error, 1) if rng.random() < 0.7 else None,
        has_fan=air,
        shows_rpm=air and rng.random() < 0.7,
        fault_at_s=fault_at_s,
        bias_k=float(np.clip(rng.normal(0.0, 0.7), -1.5, 1.5)),
        lag_s=float(rng.uniform(0.2, 2.0)),
        noise_k=float(rng.uniform(0.03, 0.3)),
        floors=bool(rng.random() < 0.5),
        idle_w=float(rng.uniform(8.0, 30.0)),
        warm_k=float(rng.uniform(2.0, 12.0)) if rng.random() < 0.15 else 0.0,
        power_gain=float(rng.uniform(0.97, 1.03)),
        stop_latency_s=float(rng.uniform(0.1, 0.5)),
    )
    return setting, c


@dataclass(frozen=True)
class Scenario:
    """One scenario played to its end without any stop: what was seen and what was true.

    Arrays of one value a row (10 Hz): `seen_*` are sensor codes, `die_c` and `hotspot_c` the truth.
    """

    setting: Setting
    time_s: Array
    power_w: Array
    seen_die_c: Array
    seen_hotspot_c: Array | None
    rpm: Array | None
    die_c: Array
    hotspot_c: Array

    @property
    def crossing_s(self) -> float:
        """When die or hot spot first truly crosses its limit; inf if never."""
        over = self.die_c >= self.setting.limit_c
        if self.setting.hotspot_limit_c is not None:
            over = over | (self.hotspot_c >= self.setting.hotspot_limit_c)
        return float(self.time_s[int(np.argmax(over))]) if over.any() else float("inf")

    @property
    def headroom_k(self) -> float:
        """Least distance to a limit over the whole run."""
        room = self.setting.limit_c - float(self.die_c.max())
        if self.setting.hotspot_limit_c is not None:
            room = min(room, self.setting.hotspot_limit_c - float(self.hotspot_c.max()))
        return room


class Sensors:
    """Lag, bias, noise and whole degrees between the truth and what is read."""

    def __init__(self, settings: list[Setting], start_c: Array, rng: np.random.Generator) -> None:
        self._lag_s = np.array([s.lag_s for s in settings])
        self._bias = np.array([s.bias_k for s in settings])
        self._noise = np.array([s.noise_k for s in settings])
        self._floor = np.array([s.floors for s in settings])
        self._rng = rng
        self._die, self._spot = start_c.copy(), start_c.copy()

    def read(self, die_c: Array, spot_c: Array) -> tuple[Array, Array]:
        """Codes of die and hot spot after one more row."""
        move = 1.0 - np.exp(-ROW_S / self._lag_s)
        self._die += (die_c - self._die) * move
        self._spot += (spot_c - self._spot) * move
        return self._code(self._die), self._code(self._spot)

    def _code(self, value_c: Array) -> Array:
        raw = value_c + self._bias + self._noise * self._rng.normal(size=len(value_c))
        code: Array = np.where(self._floor, np.floor(raw), np.round(raw))
        return code


def draw(count: int, seed: int) -> tuple[list[Setting], CardHeat]:
    """Settings and constants of `count` cards, the eight kinds in turn."""
    rng = np.random.default_rng(seed)
    drawn = [_draw(rng, KINDS[i % len(KINDS)]) for i in range(count)]
    names = [f.name for f in fields(CardHeat)]
    heat = CardHeat(**{n: np.array([c[n] for _, c in drawn]) for n in names})
    return [s for s, _ in drawn], heat


def play(count: int, seed: int) -> list[Scenario]:
    """Draws `count` scenarios and plays each to the end of its plan."""
    settings, cards = draw(count, seed)
    rng = np.random.default_rng([seed, 1])
    heat = Heat(
        cards, np.array([s.idle_w for s in settings]), np.array([s.warm_k for s in settings])
    )
    sensors = Sensors(settings, heat.die_c(), rng)
    rows = round(RUN_S / ROW_S)
    time_s: Array = np.arange(rows, dtype=np.float64) * ROW_S
    asked = np.array([s.watts(time_s) * s.power_gain for s in settings])
    kept: Array = np.zeros((6, rows, count))
    power = asked[:, 0]
    for k in range(rows):
        power = asked[:, k] * (1.0 + 0.015 * rng.normal(size=count))
        if k:
            heat.advance(power, ROW_S)
        die, spot = heat.die_c(), heat.hotspot_c(power)
        code, spot_code = sensors.read(die, spot)
        kept[:, k] = (power, code, spot_code, heat.rpm, die, spot)
    return [_scenario(s, time_s, kept[:, :, i].copy()) for i, s in enumerate(settings)]


def _scenario(setting: Setting, time_s: Array, kept: Array) -> Scenario:
    power, code, spot_code, rpm, die, spot = kept
    return Scenario(
        setting,
        time_s,
        np.round(power, 1),
        code,
        spot_code if setting.hotspot_limit_c is not None else None,
        np.round(rpm) if setting.shows_rpm else None,
        die,
        spot,
    )
