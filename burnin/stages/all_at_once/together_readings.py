"""What a leg shows: what was wrong by part, rates beside working alone, power and its steps."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from statistics import median

from burnin.core.decision import SensorAccuracy
from burnin.core.meaning import Source
from burnin.core.ratings import OwnRatings
from burnin.core.reading import Limit, NotMeasured, Reading, judge, known, not_measured
from burnin.engine.job import SLOW_STEPS_HZ, PartDone, TogetherResult
from burnin.stages.all_at_once.leg import PARTS, Leg, why_wrong
from burnin.stages.all_at_once.meanings import TogetherReason, TogetherSource
from burnin.stages.all_at_once.settings import TogetherSettings


def wrong_together(leg: Leg) -> Iterator[Reading]:
    """Wrong results of each part while all worked; work that was cut short proves none right."""
    for part in PARTS:
        faults, name = leg.wrong(part), f"wrong_together {part}"
        if not faults and leg.result is None:
            yield not_measured(name, "", TogetherReason.UNFINISHED())
        elif not faults and part == "memory" and not _passes(leg.result):
            yield not_measured(name, "", TogetherReason.NO_WHOLE_PASS())
        elif not faults and not leg.did(part):
            yield not_measured(name, "", TogetherReason.NOTHING_DONE(part=PARTS[part]()))
        else:
            yield _judged(name, part, [leg])


def wrong_in_steps(legs: Sequence[Leg], planned: int) -> Iterator[Reading]:
    """The same over all legs of power steps, of which so many were planned."""
    whole = len(legs) == planned and all(leg.result is not None for leg in legs)
    for part in PARTS:
        name, right = f"wrong_in_steps {part}", not any(leg.wrong(part) for leg in legs)
        if right and not whole:
            yield not_measured(name, "", TogetherReason.UNFINISHED())
        elif right and not all(leg.did(part) for leg in legs):
            yield not_measured(name, "", TogetherReason.NOTHING_DONE(part=PARTS[part]()))
        else:
            yield _judged(name, part, legs)


def _judged(name: str, part: str, legs: Sequence[Leg]) -> Reading:
    found = [(leg, fault) for leg in legs for fault in leg.wrong(part)]
    wrong = sum(fault.wrong for _, fault in found)
    why = why_wrong(part, wrong, found[0][1], found[0][0].rate_hz) if found else None
    return judge(
        name, float(wrong), "", Limit(0, 0), source=TogetherSource.EVERY_RESULT(), why_fail=why
    )


def _passes(result: TogetherResult | None) -> int:
    return 0 if result is None else result.memory_passes


def rate_readings(result: TogetherResult, memory_bytes: int) -> Iterator[Reading]:
    """What each part reached beside the others, over what it reached alone; and how much it did."""
    for part in result.parts:
        if part.alone_per_s > 0.0:
            yield judge(
                f"rate_beside_alone {part.part}", part.together_per_s / part.alone_per_s, "",
                None, source=_rates(part), required=False,
            )  # fmt: skip
    if memory_bytes:
        share = result.memory_bytes / memory_bytes
        yield judge("share_of_memory_together", share, "", None, required=False)
    passes = float(result.memory_passes)
    yield judge("memory_passes_together", passes, "", None, required=False)


def _rates(part: PartDone) -> Source:
    unit = "1/s" if part.part == "compute" else "GB/s"
    scale = 1.0 if part.part == "compute" else 1e9
    return TogetherSource.BESIDE_ALONE(
        together=part.together_per_s / scale, alone=part.alone_per_s / scale, unit=unit
    )


def power_readings(
    leg: Leg, settings: TogetherSettings, ratings: OwnRatings, accuracy: SensorAccuracy
) -> Iterator[Reading]:
    """Mean power while all worked, and as a share of the card's own limit."""
    least = settings.power_at_least_share
    mean_w, limit_w = leg.mean_power_w(), known(ratings.own_power_limit_w)
    if mean_w is None:
        why = TogetherReason.NO_POWER_TOLD()
        yield not_measured("power_together_w", "W", why, required=False)
        yield not_measured("power_share_together", "", why, required=least is not None)
        return
    u_share = accuracy.power_u_share
    yield judge(
        "power_together_w", mean_w, "W", None, uncertainty=u_share * mean_w, source=_told_by(leg),
        required=False,
    )  # fmt: skip
    if not limit_w:
        untold = ratings.own_power_limit_w
        why = untold.reason if isinstance(untold, NotMeasured) else TogetherReason.NO_POWER_TOLD()
        yield not_measured("power_share_together", "", why, required=least is not None)
        return
    yield judge(
        "power_share_together", mean_w / limit_w, "",
        None if least is None else Limit(lower=least),
        uncertainty=u_share * mean_w / limit_w,
        source=TogetherSource.OF_LIMIT(power_w=mean_w, limit_w=limit_w),
        required=least is not None,
    )  # fmt: skip


def _told_by(leg: Leg) -> Source:
    if len(leg.joules) > 1:
        return TogetherSource.BY_ENERGY(seconds=leg.joules[-1][0] - leg.joules[0][0])
    return TogetherSource.BY_SAMPLES(samples_count=len(leg.watts))


def step_readings(leg: Leg, accuracy: SensorAccuracy) -> Iterator[Reading]:
    """How far the power went up and down; how long there was work.

    A power sensor tells ten to twenty averages a second: it follows slow steps alone.
    """
    at = f"{leg.rate_hz:g} Hz"
    if leg.result is not None and leg.result.seconds > 0.0:
        share = leg.result.worked_s / leg.result.seconds
        yield judge(f"steps_of_power {at}", float(leg.result.steps), "", None, required=False)
        yield judge(f"step_work_share {at}", share, "", None, required=False)
    mean_w = leg.mean_power_w()
    if mean_w is not None:
        yield judge(
            f"step_mean_power_w {at}", mean_w, "W", None,
            uncertainty=accuracy.power_u_share * mean_w, source=_told_by(leg), required=False,
        )  # fmt: skip
    name = f"step_height_w {at}"
    if leg.rate_hz <= SLOW_STEPS_HZ and len(leg.watts) > 3:
        values = sorted(value for _, value in leg.watts)
        middle = (values[0] + values[-1]) / 2.0
        low = median(value for value in values if value <= middle)
        high = median([value for value in values if value > middle] or [low])
        height_w = high - low
        yield judge(
            name, height_w, "W", None, uncertainty=accuracy.power_u_share * high,
            source=TogetherSource.BY_SAMPLES(samples_count=len(leg.watts)), required=False,
        )  # fmt: skip
