"""What a record's ramps told of its cooler, read through the one reader."""

from __future__ import annotations

import math
from collections.abc import Mapping

from burnin.core.reading import Reading, Verdict, known, reading_subject
from burnin.core.sample import FAN_NAMES, Sample
from burnin.diagnosis.heat.explain_heat import Estimate, HeatCause, HeatLook
from burnin.record.reader import Record
from burnin.thermal.states import Cooling

RAMP = "thermal_ramp"
_RESISTANCES = ("die_to_block", "block_to_room", "die_to_hotspot")
_LEAST_W = 60.0
ON_WATER = (Cooling.HEALTHY_LOOP, Cooling.NO_COOLANT, Cooling.FLOW_LOST)
_SAYS: dict[str, HeatCause] = {
    Cooling.HEALTHY_AIR: HeatCause.SOUND,
    Cooling.HEALTHY_LOOP: HeatCause.SOUND,
    Cooling.NO_COOLANT: HeatCause.DRY,
    Cooling.FLOW_LOST: HeatCause.FLOW,
    Cooling.FAN_LOST: HeatCause.FAN,
    Cooling.POOR_MOUNT: HeatCause.MOUNT,
    Cooling.MISSING_PASTE: HeatCause.PASTE,
    Cooling.CLOGGED: HeatCause.FINS,
    Cooling.UNKNOWN: HeatCause.ELSE,
}
_STEADY_SHARE = 0.05
"""A power within a twentieth of the hottest step's belongs to it."""


def look_at_heat(record: Record) -> HeatLook | None:
    """The last ramp's look; None where it identified no resistance or moved too little heat."""
    stages = [stage.stage for stage in record.run.stages if stage.kind == RAMP]
    for stage in reversed(stages):
        readings = {r.name: r for r in record.all_readings if r.stage == stage}
        resistances = {
            name: estimate
            for name in _RESISTANCES
            if (estimate := _estimate(readings.get(f"{name}_k_per_w"))) is not None
        }
        top = _hottest(record, stage)
        if top is None or not {"die_to_block", "block_to_room"} <= resistances.keys():
            continue
        gpu_c = known(top.telemetry.gpu_temp_c)
        power_w = known(top.telemetry.power_w)
        if gpu_c is None or power_w is None:
            continue
        said = _said(readings)
        hotspot_c = known(top.telemetry.hotspot_temp_c)
        return HeatLook(
            power_w=power_w,
            gpu_c=gpu_c,
            resistances=resistances,
            known_good={},
            fans_rpm=_fans(top),
            water=_word(readings) in ON_WATER,
            said=said,
            fan_stood=any(_is_standing_fan(reading) for reading in readings.values()),
            hotspot_over_gpu_k=None if hotspot_c is None else hotspot_c - gpu_c,
        )
    return None


def _estimate(reading: Reading | None) -> Estimate | None:
    value = None if reading is None else reading.value
    if reading is None or isinstance(value, bool) or not isinstance(value, int | float):
        return None
    spread = reading.uncertainty
    if not (math.isfinite(value) and math.isfinite(spread)):
        return None
    return Estimate(float(value), float(spread))


def _hottest(record: Record, stage: str) -> Sample | None:
    """The last sample at about the highest power of a stage."""
    most_w, found = _LEAST_W, None
    for sample in record.samples():
        power_w = known(sample.telemetry.power_w) if sample.stage == stage else None
        if power_w is None or not math.isfinite(power_w):
            continue
        if power_w >= (1.0 - _STEADY_SHARE) * most_w:
            found, most_w = sample, max(most_w, power_w)
    return found


def _fans(sample: Sample) -> tuple[float, ...]:
    telemetry = sample.telemetry
    speeds = [known(getattr(telemetry, rpm)) for rpm, _ in FAN_NAMES]
    return tuple(speed for speed in speeds if speed is not None and math.isfinite(speed))


def _is_standing_fan(reading: Reading) -> bool:
    stands = reading_subject(reading.name)[0] == "fan_stood_still_s"
    return stands and reading.verdict is Verdict.FAIL


def _word(readings: Mapping[str, Reading]) -> str:
    state = readings.get("cooling_state")
    return "" if state is None else str(state.value)


def _said(readings: Mapping[str, Reading]) -> tuple[HeatCause, float] | None:
    """The ramp's own word of the cooling and how sure it was, 0 to 1."""
    state, sure = readings.get("cooling_state"), readings.get("cooling_sure_pct")
    cause = None if state is None else _SAYS.get(str(state.value))
    value = None if sure is None else sure.value
    if cause is None or isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return cause, min(max(float(value) / 100.0, 0.0), 1.0) if math.isfinite(value) else 0.0
