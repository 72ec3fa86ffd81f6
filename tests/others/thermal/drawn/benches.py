"""Draw a bench: a card, its cooler and the air around it.

Ranges, K/W and J/K for a card of 300 W and scaled by (300 W / P)^0.8 for others:
die to block 0.04 to 0.10, block to moving coolant 0.02 to 0.05, coolant to room 0.03 to 0.06, dry
block to room 1.5 to 5 K/W, die 7 to 25 J/K, board 120 to 350 J/K, block 359 J/K and 610 J/K with
its water, air cooler 603 J/K, loop water 3,350 J/K for 0.8 kg, share of power through the die 0.7
to 0.9, exponent of the fan law 0.5 to 0.8: `thermal.md` (estimates there). Leakage: a data-centre
card idled at 117 W with 36 °C and at 128 W with 52 °C (`load_steps.csv`), 0.7 W/K for 700 W.
Everything else (fan curves, chassis, supplies, boost, throttling) is common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from .network import Chip, FanLaw, Network

KINDS = ("air", "blower", "stream", "open_water", "loop", "dry")
SHARES = (0.30, 0.11, 0.25, 0.10, 0.16, 0.08)


@dataclass(frozen=True)
class Build:
    """One bench as it truly is."""

    kind: str
    network: Network
    law: FanLaw
    chip: Chip
    fans: int
    rated_w: float
    idle_w: float
    room_c: float
    supply_c: float
    die_share: float
    hotspot_k_w: float  # excess of the hottest point over the die sensor, per watt in the die


def _uniform(rng: np.random.Generator, low: float, high: float) -> float:
    return float(rng.uniform(low, high))


def _fan_law(rng: np.random.Generator, kind: str) -> FanLaw:
    if kind in ("air", "blower"):
        if rng.random() < 0.2:
            return FanLaw("fixed", _uniform(rng, 0.5, 1.0), 1.0, 50.0, 30.0, 2.0)
        rest = _uniform(rng, 46.0, 58.0) if kind == "air" and rng.random() < 0.3 else None
        return FanLaw(
            "die", _uniform(rng, 0.22, 0.45), _uniform(rng, 0.8, 1.0), _uniform(rng, 40.0, 55.0),
            _uniform(rng, 25.0, 40.0), _uniform(rng, 1.5, 7.0), rest,
        )  # fmt: skip
    if kind == "stream":
        by = str(rng.choice(["fixed", "air", "host"], p=[0.25, 0.45, 0.30]))
        return FanLaw(
            by, _uniform(rng, 0.45, 0.75), 1.0, _uniform(rng, 30.0, 40.0),
            _uniform(rng, 12.0, 30.0), _uniform(rng, 4.0, 25.0),
        )  # fmt: skip
    if rng.random() < 0.5:
        return FanLaw("fixed", _uniform(rng, 0.5, 1.0), 1.0, 30.0, 20.0, 2.0)
    return FanLaw("loop", 0.4, 1.0, _uniform(rng, 28.0, 35.0), _uniform(rng, 8.0, 15.0), 6.0)


def _rated_power(rng: np.random.Generator, kind: str) -> float:
    choices = {
        "air": (75, 120, 160, 200, 250, 300, 320, 350, 450),
        "blower": (75, 120, 165, 200, 250, 300),
        "stream": (72, 150, 250, 300, 350, 400, 600, 700),
        "open_water": (300, 350, 450, 600, 700, 1000),
        "loop": (200, 250, 300, 350, 450, 600),
        "dry": (150, 250, 300, 350, 450, 600),
    }
    return float(rng.choice(choices[kind]))


def _exchanger(out_k_w: float, stream_w_k: float, speed: float) -> tuple[float, float]:
    """Give film and stream (W/K at full fan) that reach `out_k_w` at `speed`."""
    wanted = 1.0 / out_k_w
    stream = max(stream_w_k * speed, wanted / 0.85)
    film = -stream * math.log(1.0 - wanted / stream)
    return film / speed**0.75, stream / speed


def _chip(rng: np.random.Generator, rated: float, held: bool) -> Chip:
    throttles = rng.random() < 0.3
    return Chip(
        leak_w=rated * _uniform(rng, 0.02, 0.10),
        leak_e_k=_uniform(rng, 30.0, 60.0),
        boost_per_k=_uniform(rng, 0.0003, 0.002),
        held=held,
        limit_w=rated * _uniform(rng, 0.97, 1.03),
        throttle_c=_uniform(rng, 80.0, 95.0) if throttles else 106.0,
        off_c=_uniform(rng, 110.0, 124.0),
    )


def _chassis(rng: np.random.Generator, kind: str, rated: float) -> dict[str, float]:
    """Draw the air around the cooler: open bench, case, server."""
    if kind == "stream":
        return {
            "air_j_k": _uniform(rng, 400.0, 3000.0), "recirculated": _uniform(rng, 0.05, 0.35),
            "host_w": _uniform(rng, 50.0, 400.0), "chassis_w_k": _uniform(rng, 30.0, 80.0),
            "chassis_gain": _uniform(rng, 0.3, 1.5), "chassis_from_c": _uniform(rng, 25.0, 35.0),
            "chassis_span_k": _uniform(rng, 6.0, 15.0),
        }  # fmt: skip
    closed = rng.random() < 0.55
    return {
        "air_j_k": _uniform(rng, 300.0, 1500.0),
        "recirculated": _uniform(rng, 0.3, 0.8) * (0.3 if kind == "blower" else 1.0) if closed
        else _uniform(rng, 0.0, 0.08),
        "host_w": _uniform(rng, 20.0, 150.0) if closed else 5.0,
        "chassis_w_k": rated / _uniform(rng, 8.0, 20.0) if closed else 60.0,
        "chassis_gain": _uniform(rng, 0.0, 1.0), "chassis_from_c": _uniform(rng, 28.0, 38.0),
        "chassis_span_k": _uniform(rng, 6.0, 15.0),
    }  # fmt: skip


def draw_build(rng: np.random.Generator, kind: str, held: bool, cooler: float) -> Build:
    """Draw a bench of `kind`; `cooler` under 1 asks for a better one than drawn (retries)."""
    rated = _rated_power(rng, kind)
    scale = (300.0 / rated) ** 0.8
    law = _fan_law(rng, kind)
    speed = {"fixed": law.floor, "host": 0.7}.get(law.driven_by, 0.75)
    die_r = _uniform(rng, 0.04, 0.10) * scale * (0.8 if kind in ("open_water", "loop") else 1.0)
    spread_r = _uniform(rng, 0.01, 0.03) * scale
    share = _uniform(rng, 0.70, 0.90)
    liquid = kind in ("open_water", "loop", "dry")
    rises = {"air": (32.0, 74.0), "blower": (44.0, 80.0), "stream": (22.0, 58.0)}
    if liquid:
        spread_r = _uniform(rng, 0.02, 0.05) * scale
        out_r = _uniform(rng, 0.03, 0.06) * scale * cooler
        stream = rated / _uniform(rng, 4.0, 10.0)
    else:
        whole = _uniform(rng, *rises[kind]) / rated * cooler
        out_r = max(whole - share * die_r - spread_r, 0.04 * scale)
        stream = rated / _uniform(rng, 10.0, 25.0)
    film, stream = _exchanger(out_r, stream, speed)
    wet_c = _uniform(rng, 150.0, 280.0)
    size = math.sqrt(rated / 300.0)
    loop_kg = _uniform(rng, 0.4, 1.3)
    network = Network(
        die_j_k=_uniform(rng, 7.0, 25.0) * size,
        base_j_k=_uniform(rng, 180.0, 420.0) if liquid else _uniform(rng, 70.0, 190.0) * size,
        sink_j_k=wet_c if liquid else _uniform(rng, 75.0, 540.0) * size,
        board_j_k=_uniform(rng, 120.0, 350.0),
        loop_j_k=loop_kg * 4186.0,
        mount_w_k=1.0 / die_r,
        spread_w_k=1.0 / spread_r,
        spread_still_w_k=_uniform(rng, 6.0, 15.0) if liquid else 0.0,
        exchange_w_k=film,
        exchange_still_w_k=_uniform(rng, 0.3, 1.2) * size,
        stream_w_k=stream,
        flow_w_k=_uniform(rng, 60.0, 190.0) if liquid else 0.0,
        flow_still_w_k=_uniform(rng, 0.5, 3.0) if liquid else 0.0,
        base_air_w_k=1.0 / _uniform(rng, 1.5, 5.0) if liquid else 0.05,
        board_base_w_k=_uniform(rng, 2.0, 8.0) * size,
        board_air_w_k=_uniform(rng, 0.5, 2.0) * size,
        liquid=liquid,
        open_supply=kind == "open_water",
        **_chassis(rng, kind, rated),
    )
    room = _uniform(rng, 16.0, 35.0 if kind == "stream" else 32.0)
    return Build(
        kind=kind, network=network, law=law, chip=_chip(rng, rated, held),
        fans=1 if kind == "blower" else int(rng.integers(2, 5)), rated_w=rated,
        idle_w=rated * _uniform(rng, 0.04, 0.17), room_c=room,
        supply_c=_uniform(rng, 16.0, 38.0), die_share=share,
        hotspot_k_w=_uniform(rng, 7.0, 15.0) / (rated * share),
    )  # fmt: skip
