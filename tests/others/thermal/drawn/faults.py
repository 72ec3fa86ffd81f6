"""Draw what goes wrong and what the world does: multipliers on the sound bench, over time.

Severity runs from 0 to 1: trifling to 0.25, mild to 0.5, serious to 0.75, grave above. Sizes are
common practice, no source, but for: fins at severity 1 keep 7 % of their conductance; a mount at
severity 1 has seven times its resistance (missing paste); a room warms by up to 27 K; a block
without coolant loses through 1.5 to 5 K/W (`thermal.md`).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from .benches import Build
from .network import CONTROL_S, Drives, Floats
from .plans import LEAD_S, Load

# what can befall each kind of bench, by cause; a cause is drawn first, then what happened
DETAILS: dict[str, dict[str, tuple[str, ...]]] = {
    "air": {"clogged": ("fins_clogged",), "room": ("room_heats",), "sensor": ("sensor",),
            "fan": ("fan_slows", "one_fan_stops", "all_fans_stop"),
            "mount": ("poor_mount", "mount_shifts", "paste_pumped_out"),
            "unknown": ("heat_pipe_dries",)},
    "blower": {"clogged": ("fins_clogged",), "fan": ("fan_slows", "all_fans_stop"),
               "mount": ("poor_mount", "paste_pumped_out"), "room": ("room_heats",),
               "sensor": ("sensor",)},
    "stream": {"clogged": ("fins_clogged",), "room": ("room_heats",), "sensor": ("sensor",),
               "fan": ("fan_slows", "one_fan_stops", "all_fans_stop"),
               "mount": ("poor_mount", "paste_pumped_out"), "unknown": ("heat_pipe_dries",)},
    "open_water": {"flow": ("supply_stops", "flow_fades"), "dry": ("no_coolant",),
                   "mount": ("poor_mount", "mount_shifts"), "room": ("supply_heats",),
                   "sensor": ("sensor",)},
    "loop": {"flow": ("pump_stops", "pump_slows", "flow_fades"), "dry": ("no_coolant",),
             "clogged": ("fins_clogged",), "fan": ("all_fans_stop",), "mount": ("poor_mount",),
             "room": ("room_heats",), "sensor": ("sensor",)},
    "dry": {"dry": ("dry_block",)},
}  # fmt: skip
CAUSE_WEIGHTS = {"fan": 2.2, "flow": 2.5, "mount": 1.4, "unknown": 0.6, "room": 0.8}
FROM_START = {"poor_mount", "dry_block"}
MIDWAY = {"mount_shifts", "paste_pumped_out", "room_heats", "supply_heats", "flow_fades"}
SENSOR_FAULTS = ("stuck", "jumping", "offset", "late")


@dataclass(frozen=True)
class Fault:
    """One fault: code of its cause, what happened, how grave, from when on (s)."""

    cause: str
    detail: str
    severity: float
    onset_s: float
    seconds: float  # how long it takes to unfold
    tach_sees: bool  # the fan whose speed is read is the one that failed

    @property
    def grade(self) -> str:
        """Name the severity."""
        if self.cause == "none":
            return "none"
        return ("trifling", "mild", "serious", "grave")[min(3, int(self.severity * 4.0))]


def draw_kind_of_fault(rng: np.random.Generator, kind: str) -> tuple[str, str, int]:
    """Draw cause, what happened and the quarter of severity for a bench of `kind`."""
    causes = DETAILS[kind]
    weights = np.array([CAUSE_WEIGHTS.get(name, 1.0) for name in causes])
    cause = str(rng.choice(list(causes), p=weights / weights.sum()))
    detail = str(rng.choice(causes[cause]))
    quarter = int(rng.integers(4))
    if detail in ("all_fans_stop", "pump_stops", "supply_stops", "dry_block"):
        quarter = 3
    return cause, detail, quarter


def draw_fault(rng: np.random.Generator, what: tuple[str, str, int], end_s: float) -> Fault:
    """Draw a fault of that kind for a record of `end_s`."""
    cause, detail, quarter = what
    severity = max(0.03, (quarter + float(rng.random())) / 4.0)
    start = detail in FROM_START or (detail not in MIDWAY and rng.random() < 0.4)
    seconds = {
        "paste_pumped_out": rng.uniform(20.0, 200.0), "flow_fades": rng.uniform(20.0, 200.0),
        "room_heats": rng.uniform(10.0, 150.0), "supply_heats": rng.uniform(10.0, 120.0),
        "fins_clogged": rng.uniform(1.0, 60.0), "fan_slows": rng.uniform(1.0, 40.0),
        "no_coolant": rng.uniform(3.0, 30.0), "heat_pipe_dries": rng.uniform(2.0, 40.0),
    }.get(detail, rng.uniform(0.4, 4.0))  # fmt: skip
    if detail == "sensor":
        detail = "sensor_" + str(rng.choice(SENSOR_FAULTS))
        start = False
    onset = 0.0 if start else float(rng.uniform(0.12, 0.8)) * end_s
    unfolds = 0.0 if start else float(seconds)
    return Fault(cause, detail, severity, onset, unfolds, bool(rng.random() < 0.5))


SOUND = Fault("none", "none", 0.0, 0.0, 0.0, False)


def dry_fault(severity: float) -> Fault:
    """Give the fault of a block that is loaded without ever having had coolant."""
    return Fault("dry", "dry_block", severity, 0.0, 0.0, False)


def _share_of_fans(fault: Fault, fans: int) -> float:
    s = fault.severity
    if fault.detail == "one_fan_stops":
        return (1.0 - 1.0 / fans) * (1.0 - 0.2 * s)  # air flows back through the one that stands
    if fault.detail == "fan_slows":
        return 1.0 - 0.85 * s
    return 0.02


def tach_share(fault: Fault, fans: int, done: Floats) -> Floats:
    """Give what the read fan turns against what is asked of it, with the fault `done` (0 to 1)."""
    if fault.cause != "fan" or (fault.detail == "one_fan_stops" and not fault.tach_sees):
        return np.ones_like(done)
    gone = 1.0 if fault.detail != "fan_slows" else 1.0 - _share_of_fans(fault, fans)
    return np.asarray(1.0 - gone * done)


def unfolded(fault: Fault, times: Floats) -> Floats:
    """Give how far the fault has come (0 to 1) at `times`."""
    if fault.seconds <= 0.0:
        return np.full_like(times, 1.0)
    done = np.clip((times - fault.onset_s) / fault.seconds, 0.0, 1.0)
    return np.asarray(done * done * (3.0 - 2.0 * done))


def _world(rng: np.random.Generator, build: Build, times: Floats) -> tuple[Floats, Floats, Floats]:
    """Draw room, supply (°C) and what the host asks of its fans: all drift in sound runs too."""
    span = times[-1] - times[0]
    room, supply = np.full_like(times, build.room_c), np.full_like(times, build.supply_c)
    drift = float(rng.choice([0.0, 1.0, 3.0])) * float(rng.uniform(-1.0, 1.0))
    period, phase = float(rng.uniform(60.0, 900.0)), float(rng.uniform(0.0, 6.28))
    swing = float(rng.uniform(0.0, 0.8))
    room += drift * (times - times[0]) / span + swing * np.sin(6.283 * times / period + phase)
    if rng.random() < 0.08:  # a door opens, an air conditioner starts or stops
        room += float(rng.uniform(-3.0, 2.0)) * (times > float(rng.uniform(0.2, 0.9)) * span)
    supply += float(rng.uniform(-1.5, 1.5)) * (times - times[0]) / span
    supply += 0.4 * np.sin(6.283 * times / float(rng.uniform(20.0, 120.0)) + phase)
    host = np.full_like(times, float(rng.uniform(0.55, 0.8)))
    for _ in range(int(rng.integers(0, 5))):
        host[times > float(rng.uniform(0.0, 1.0)) * span] = float(rng.uniform(0.5, 1.0))
    return room, supply, host


def make_drives(rng: np.random.Generator, build: Build, load: Load, fault: Fault) -> Drives:
    """Give what acts on the bench, per control step from -LEAD_S on."""
    n = len(load.die_share)
    times: Floats = -LEAD_S + CONTROL_S * np.arange(n, dtype=np.float64)
    room, supply, host = _world(rng, build, times)
    done, s, one = unfolded(fault, times), fault.severity, np.ones(n)
    fan, exchange, flow, wet, mount, spread = (one.copy() for _ in range(6))

    def clogged() -> None:
        exchange[:] = np.exp(-2.65 * s * done)

    def fan_lost() -> None:
        fan[:] = 1.0 - (1.0 - _share_of_fans(fault, build.fans)) * done

    def flow_lost() -> None:
        left = {"pump_slows": 1.0 - 0.95 * s, "flow_fades": 1.0 - 0.98 * s}.get(fault.detail, 0.0)
        flow[:] = 1.0 - (1.0 - left) * done

    def dry() -> None:
        # trifling: air in the block; grave: no drop left
        left = 0.0 if fault.detail == "dry_block" or s > 0.6 else 0.75 * (1.0 - s / 0.6) + 0.05
        wet[:] = 1.0 - (1.0 - left) * done
        flow[:] = np.maximum(wet * one, 0.0)

    def mounted() -> None:
        mount[:] = 1.0 + (0.1 + 6.0 * s**1.6) * done

    def room_heats() -> None:
        room[:] += (1.5 + 25.5 * s) * done
        supply[:] += (1.5 + 25.5 * s) * done

    def pipes_dry() -> None:
        spread[:] = 1.0 - 0.93 * s**0.5 * done

    acts: dict[str, Callable[[], None]] = {
        "clogged": clogged, "fan": fan_lost, "flow": flow_lost, "dry": dry, "mount": mounted,
        "room": room_heats, "unknown": pipes_dry,
    }  # fmt: skip
    if fault.cause in acts:
        acts[fault.cause]()
    share = np.minimum(load.die_share * build.die_share, 0.95)
    if build.kind == "stream" and fault.detail == "one_fan_stops":
        host = np.minimum(host + 0.15 * done, 1.0)  # a host answers a dead fan with the others
    return Drives(
        request_w=load.request_w.reshape(n, -1), die_share=share, room_c=room, supply_c=supply,
        host_fan=host, fan=fan, exchange=exchange, flow=flow, wet=wet, mount=mount, spread=spread,
    )  # fmt: skip
