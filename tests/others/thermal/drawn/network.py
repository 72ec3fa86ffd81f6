"""Heat in a card, its cooler and the air around it: six nodes, stepped in time.

Nodes are die, base (block or vapour chamber), sink (fins, or the coolant inside a block), board
(memory, voltage regulators, circuit board), loop (coolant outside the block) and chassis air.
Temperatures in °C, power in W, heat capacities in J/K, conductances in W/K, times in s.

The die, whose time constant is a few tenths of a second, is stepped by the exact exponential
towards its neighbour, all others by explicit steps; the heat handed on is the energy balance of
each step, so that energy is conserved whatever the step. Controls (fan, leakage, boost,
throttling, film coefficients) are renewed every `CONTROL_S`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

CONTROL_S = 0.2
FINE = 4  # fine steps in a control step: 50 ms each
STEP_S = CONTROL_S / FINE
LEAK_REFERENCE_C = 45.0


@dataclass(frozen=True)
class Network:
    """Capacities (J/K) and conductances (W/K at full speed or flow) of one bench."""

    die_j_k: float
    base_j_k: float
    sink_j_k: float
    board_j_k: float
    loop_j_k: float
    air_j_k: float
    mount_w_k: float  # die to base
    spread_w_k: float  # base to sink: heat pipes, or the film of moving coolant
    spread_still_w_k: float  # the part of it that is left without flow
    exchange_w_k: float  # fins or radiator to the stream, at full fan
    exchange_still_w_k: float  # the same in still air
    stream_w_k: float  # heat capacity rate of the stream at full fan
    flow_w_k: float  # heat capacity rate of the coolant at full flow, 0 without a loop
    flow_still_w_k: float  # what convection alone carries round
    base_air_w_k: float  # bare base to the air beside it
    board_base_w_k: float
    board_air_w_k: float
    liquid: bool  # the exchanger hangs on the loop, not on the sink
    open_supply: bool  # the loop is fed from a supply of given temperature
    recirculated: float  # share of the card's heat that comes back into the chassis air
    host_w: float  # heat of the host in the chassis air
    chassis_w_k: float  # chassis air to room, cool
    chassis_gain: float  # how much faster that air moves when warm
    chassis_from_c: float
    chassis_span_k: float


@dataclass(frozen=True)
class FanLaw:
    """Speed (0 to 1) from what drives it: the die, the chassis air, the loop, the host, nothing."""

    driven_by: str
    floor: float
    ceiling: float
    from_c: float
    span_k: float
    lag_s: float
    zero_below_c: float | None = None


@dataclass(frozen=True)
class Chip:
    """What the silicon adds: leakage, boost, power cap, throttling, the last shut-off."""

    leak_w: float  # at LEAK_REFERENCE_C, counted in the nominal power
    leak_e_k: float  # kelvin for a factor e
    boost_per_k: float  # share of power lost per kelvin above the reference
    held: bool  # the board power is held by a controller: leakage and boost are absorbed
    limit_w: float
    throttle_c: float
    off_c: float


@dataclass(frozen=True)
class Drives:
    """What acts from outside, one value a control step (`request_w` one a fine step)."""

    request_w: Floats  # board power asked for, shape (n, FINE)
    die_share: Floats
    room_c: Floats
    supply_c: Floats
    host_fan: Floats  # speed that a host asks of its fans
    fan: Floats  # health of the fans as air moved, 1 sound
    exchange: Floats  # what is left of fins or radiator, 1 clean
    flow: Floats  # coolant moved, 1 sound
    wet: Floats  # coolant present, 1 full
    mount: Floats  # resistance die to base against a sound one
    spread: Floats  # heat pipes or vapour chamber, 1 sound


class State(NamedTuple):
    """Temperatures (°C) and controls at the start of a control step."""

    die: float
    base: float
    sink: float
    board: float
    loop: float
    air: float
    fan: float
    gate: float  # share of the work let through by throttling; 0 once shut off


class Trace(NamedTuple):
    """One course: per fine step, at the END of the step; fan and states per control step."""

    die_c: Floats
    power_w: Floats
    die_w: Floats
    air_c: Floats
    fan: Floats
    states: list[State]
    heat_out_j: float
    off_step: int | None


def cold_state(net: Network, room_c: float, supply_c: float, idle_w: float) -> State:
    """Give a guess of the state at idle, close enough for a pre-roll to settle."""
    air = room_c + (net.host_w + net.recirculated * idle_w) / net.chassis_w_k
    loop = supply_c if net.open_supply else air + idle_w * 0.06 * net.liquid
    sink = loop + 1.0 if net.liquid else air + 4.0
    return State(sink + 4.0, sink + 2.0, sink, air + 5.0, loop, air, 0.3, 1.0)


def _fan_target(law: FanLaw, fan: float, s: State, host: float) -> float:
    if law.driven_by == "fixed":
        return law.floor
    if law.driven_by == "host":
        return host
    seen = s.die if law.driven_by == "die" else s.air if law.driven_by == "air" else s.loop
    # a fan that rests at low temperature starts at the threshold and stops 6 K below it
    if law.zero_below_c is not None and seen < law.zero_below_c - (6.0 if fan > 0.05 else 0.0):
        return 0.0
    part = min(1.0, max(0.0, (seen - law.from_c) / law.span_k))
    return law.floor + (law.ceiling - law.floor) * part


def run(net: Network, law: FanLaw, chip: Chip, drives: Drives, start: State, fine: int) -> Trace:
    """Step the network through `drives` with `fine` steps in each control step."""
    n, dt = len(drives.die_share), CONTROL_S / fine
    request = drives.request_w.reshape(n, fine, -1).mean(axis=2).tolist()
    columns = zip(
        request, drives.die_share.tolist(), drives.room_c.tolist(), drives.supply_c.tolist(),
        drives.host_fan.tolist(), drives.fan.tolist(), drives.exchange.tolist(),
        drives.flow.tolist(), drives.wet.tolist(), drives.mount.tolist(),
        drives.spread.tolist(), strict=True,
    )  # fmt: skip
    die, base, sink, board, loop, air, fan, gate = start
    dies: list[float] = []
    powers: list[float] = []
    die_powers: list[float] = []
    airs: list[float] = []
    fans: list[float] = []
    states: list[State] = []
    out = 0.0
    off: int | None = None
    k_base, k_sink, k_board = dt / net.base_j_k, dt / net.sink_j_k, dt / net.board_j_k
    k_loop, k_air = dt / net.loop_j_k, dt / net.air_j_k
    g_db, g_da, back = net.board_base_w_k, net.board_air_w_k, net.recirculated
    fan_blend = 1.0 - math.exp(-CONTROL_S / law.lag_s)
    for asked, share, room, supply, host, fan_ok, fins, flow, wet, mount, spread in columns:
        state = State(die, base, sink, board, loop, air, fan, gate)
        states.append(state)
        fan += fan_blend * (_fan_target(law, fan, state, host) - fan)
        fans.append(fan)
        speed = fan * fan_ok
        # forced convection grows with speed to the power 0.75; the stream it warms is finite
        stream = net.stream_w_k * speed * math.sqrt(fins) + 3.0 * net.exchange_still_w_k
        film = net.exchange_w_k * fins * speed**0.75 + net.exchange_still_w_k * math.sqrt(fins)
        g_x = stream * (1.0 - math.exp(-film / stream))
        moving = net.spread_w_k * flow**0.6 if net.liquid else net.spread_w_k * spread
        g_bs = (moving + net.spread_still_w_k) * wet + 0.4 * (1.0 - wet)
        g_sl = (net.flow_w_k * flow + net.flow_still_w_k) * wet
        g_sa, g_la = (0.0, g_x * wet) if net.liquid else (g_x, 0.0)
        g_ba = net.base_air_w_k
        g_jb = net.mount_w_k / mount
        warm = min(1.0, max(0.0, (air - net.chassis_from_c) / net.chassis_span_k))
        g_room = net.chassis_w_k * (1.0 + net.chassis_gain * warm)
        decay = math.exp(-dt * g_jb / net.die_j_k)
        k_die = net.die_j_k / dt
        if net.open_supply:
            loop, g_la = supply, 0.0
        if die > chip.off_c and off is None:
            off, gate = len(dies), 0.0
        elif gate > 0.0:
            gate = min(1.0, max(0.25, gate + CONTROL_S * 0.02 * (chip.throttle_c - die)))
        scale, extra = gate, 0.0
        if not chip.held and gate > 0.0:
            scale *= 1.0 - chip.boost_per_k * (die - LEAK_REFERENCE_C)
            hot = (min(die, 140.0) - LEAK_REFERENCE_C) / chip.leak_e_k
            extra = chip.leak_w * (math.exp(hot) - 1.0)
        for ask in asked:
            power = min(chip.limit_w, ask * scale + extra)
            die_w = power * share
            goal = base + die_w / g_jb
            new = goal + (die - goal) * decay
            into_base = die_w - k_die * (new - die)
            die = new
            q_bs, q_db = g_bs * (base - sink), g_db * (board - base)
            q_sl, q_ba = g_sl * (sink - loop), g_ba * (base - air)
            q_sa, q_da = g_sa * (sink - air), g_da * (board - air)
            q_la = g_la * (loop - air)
            base += k_base * (into_base + q_db - q_bs - q_ba)
            sink += k_sink * (q_bs - q_sa - q_sl)
            board += k_board * (power - die_w - q_db - q_da)
            if net.open_supply:
                out += q_sl * dt
            else:
                loop += k_loop * (q_sl - q_la)
            given, lost = q_ba + q_sa + q_da + q_la, g_room * (air - room)
            air += k_air * (back * given + net.host_w - lost)
            out += dt * ((1.0 - back) * given + lost - net.host_w)
            dies.append(die)
            powers.append(power)
            die_powers.append(die_w)
            airs.append(air)
    return Trace(
        np.array(dies), np.array(powers), np.array(die_powers), np.array(airs), np.array(fans),
        states, out, off,
    )  # fmt: skip


def capacities(net: Network) -> Floats:
    """Give the heat capacities (J/K) in the order of the temperatures of a state."""
    return np.array(
        [net.die_j_k, net.base_j_k, net.sink_j_k, net.board_j_k, net.loop_j_k, net.air_j_k]
    )
