"""What a record's ramps told of the card's supply, read through the one reader.

No driver tells volts or what the sense lines said, and a record holds no meter's values: who has
the ticket hands those in.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import groupby
from statistics import median

from burnin.core.meaning import Meaning
from burnin.core.reading import Reading, known
from burnin.core.sample import Sample, Slowdown
from burnin.diagnosis.power.look import POWER_LIMIT, SUPPLY_BRAKE, PowerLook, PowerStep
from burnin.record.reader import Record
from burnin.stages.thermal_ramp.meanings import ThermalRampReason, ThermalRampSource

RAMP, OWN_SHARE = "thermal_ramp", "own_power_share"
_FULL_SHARE = 0.97
"""Share of work from which a step asks for all that there is."""
_SETTLES_S = 8.0
"""A soft start and the card's own control of its clocks take so long."""
_WORDS = {
    Slowdown.POWER_LIMIT: POWER_LIMIT,
    Slowdown.SUSTAINED_POWER: POWER_LIMIT,
    Slowdown.BURST_POWER: POWER_LIMIT,
    Slowdown.PEAK_CURRENT: POWER_LIMIT,
    Slowdown.POWER_BRAKE: SUPPLY_BRAKE,
}
_OTHER_HOLDS = (
    Slowdown.HEAT, Slowdown.AVERAGE_TEMPERATURE, Slowdown.HOT_SIGNAL, Slowdown.REGULATOR_HOT,
    Slowdown.CLOCKS_SET, Slowdown.IN_STEP, Slowdown.DISPLAY_CLOCKS,
)  # fmt: skip
"""What holds the power down for a reason that is not the supply's: such a step tells nothing."""
_OWN_LIMIT = (
    ThermalRampSource.OWN_LIMIT, ThermalRampSource.OWN_LIMIT_HOT,
    ThermalRampSource.OWN_LIMIT_REACHED,
)  # fmt: skip


@dataclass(frozen=True)
class TicketSays:
    """What a ticket adds: plug, ohm by contact (None: open), contacts damaged and repaired."""

    plug: str | None = None
    meter_ohm: Mapping[str, float | None] | None = None
    damaged: tuple[str, ...] = ()
    repaired: tuple[str, ...] = ()


NOTHING_SAID = TicketSays()


def ohm_by_contact(
    measured: Iterable[tuple[str, float | None, str]],
) -> dict[str, float | None]:
    """Values of a ticket (point, value, unit) by contact: ``B2-trace`` is from contact to rail.

    Diode readings of a supply contact tell its rail, not the contact, and are left out.
    """
    return {
        point.removesuffix("-trace"): value
        for point, value, unit in measured
        if unit == "Ω" and (point.endswith("-trace") or point == "supply_12v")
    }


def look_at_power(record: Record, says: TicketSays = NOTHING_SAID) -> PowerLook | None:
    """The last ramp's look; None where neither a ramp nor a meter tells of the supply."""
    meter = says.meter_ohm or {}
    for stage in reversed([s.stage for s in record.run.stages if s.kind == RAMP]):
        own_w, set_w = _limits(r for r in record.all_readings if r.stage == stage)
        steps = tuple(_steps((s for s in record.samples() if s.stage == stage), own_w))
        if steps:
            return PowerLook(
                plug=says.plug,
                limit_w=set_w,
                default_limit_w=own_w,
                steps=steps,
                meter_ohm=meter,
                damaged=says.damaged,
                repaired=says.repaired,
            )
    if not meter:
        return None
    return PowerLook(plug=says.plug, meter_ohm=meter, damaged=says.damaged, repaired=says.repaired)


def _limits(readings: Iterable[Reading]) -> tuple[float | None, float | None]:
    """The card's own limit and the one in force, W, as the ramp told them beside its share."""
    for reading in readings:
        if reading.name != OWN_SHARE:
            continue
        reason = reading.reason
        if reason is not None and reason.means(ThermalRampReason.BELOW_OWN_POWER):
            return _number(reason, "limit_w"), _number(reason, "set_limit_w")
        source = reading.source
        if isinstance(source, Meaning) and source.means(*_OWN_LIMIT):
            return _number(source, "limit_w"), None
    return None, None


def _number(told: Meaning, name: str) -> float | None:
    value = dict(told.data).get(name)
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return float(value) if 0.0 < value < 1e5 else None


def _steps(samples: Iterable[Sample], own_w: float | None) -> Iterator[PowerStep]:
    """Each time that one load was held long enough, its second half."""
    for (share, load_w), group in groupby(samples, key=lambda s: (s.load_share, s.load_w)):
        held = list(group)
        asked_w = load_w
        if load_w is None and share >= _FULL_SHARE:
            asked_w = own_w
        if asked_w is None or not 0.0 < asked_w < 1e5:
            continue
        if held[-1].elapsed_s - held[0].elapsed_s < _SETTLES_S:
            continue
        step = _step(asked_w, held[len(held) // 2 :])
        if step is not None:
            yield step


def _step(asked_w: float, samples: list[Sample]) -> PowerStep | None:
    powers = [p for s in samples if (p := known(s.telemetry.power_w)) is not None]
    powers = [power_w for power_w in powers if math.isfinite(power_w)]
    if not powers or _mostly(samples, _OTHER_HOLDS):
        return None
    words = [word for word in (POWER_LIMIT, SUPPLY_BRAKE) if _mostly(samples, _called(word))]
    return PowerStep(asked_w, median(powers), throttle=tuple(words))


def _called(word: str) -> tuple[Slowdown, ...]:
    return tuple(slowdown for slowdown, its in _WORDS.items() if its == word)


def _mostly(samples: list[Sample], slowdowns: tuple[Slowdown, ...]) -> bool:
    """Whether one of these held in half of the samples or more."""
    told = [known(s.telemetry.throttle_reasons) or () for s in samples]
    return 2 * sum(any(one in slowdowns for one in reasons) for reasons in told) >= len(told)
