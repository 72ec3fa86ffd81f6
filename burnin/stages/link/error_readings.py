"""Readings of the errors that traffic brought: new ones, and the bound on the bit error rate.

A short stage claims no more than 'no sign of more than 1e-12 a bit': it fails where the exact lower
95 % bound of the count lies above what that rate would give over the bits moved. That every lane
is at 1e-12 or better is claimed by a soak alone (`error_rate_bound`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace

from burnin.card.capabilities import Link
from burnin.core.count_readings import judge_count
from burnin.core.exact_intervals import poisson_lower, poisson_upper
from burnin.core.meaning import Reason, Source
from burnin.core.reading import (
    Limit,
    NotMeasured,
    Reading,
    Verdict,
    judge,
    known,
    not_measured,
)
from burnin.stages.context import StageContext
from burnin.stages.counters import not_of_the_wire, of_way, rises, uncorrected, unmended_count
from burnin.stages.link.ends_seen import Needs
from burnin.stages.link.error_rate import Direction
from burnin.stages.link.meanings import LinkNote, LinkReason, LinkSource
from burnin.stages.link.settings import LinkCheck
from burnin.stages.link.sums import WAYS, Traffic

SPECIFIED_RATE = 1e-12
"""Bit error rate that the base specification asks of every lane (as quoted by Astera Labs)."""


def take_errors(
    context: StageContext[Needs],
    settings: LinkCheck,
    sums: Traffic,
    link: Link,
    no_traffic: Reason | None,
) -> None:
    """New errors of all counters, and the bound on the error rate where the profile asks."""
    missing = sums.counters_missing
    if no_traffic is not None:
        missing = LinkReason.ERRORS_NEED_TRAFFIC(reason=no_traffic)
    elif missing is None and not sums.errors and not sums.broken:
        missing = LinkReason.NO_COUNTER_TWICE()
    if sums.unusable:
        context.note(LinkNote.COUNTERS_UNUSABLE(reasons=sums.unusable))
    if missing is not None:
        context.take(not_measured("new_link_errors", "", missing))
    else:
        context.note(
            LinkNote.COUNTERS(
                errors=tuple(
                    LinkNote.COUNTER(counter=name, increase=rise)
                    for name, rise in sums.errors.items()
                )
            )
        )
        width = known(link.card.width_lanes) or 1
        for reading in new_errors(sums, width, settings.new_errors_at_most):
            context.take(reading)
    if settings.error_rate_bound is not None:
        for way in WAYS:
            for reading in _bound(settings.error_rate_bound, way, sums, link, missing):
                context.take(reading)


def new_errors(
    sums: Traffic, width_lanes: int, most_permitted: int | None
) -> Iterator[Reading]:
    """What the counters told: unmended errors, events each way and in all, and what is no event."""
    hard = uncorrected(sums.errors)
    yield judge(
        "uncorrected_link_errors",
        float(unmended_count(hard)),
        "",
        Limit(0, 0),
        source=LinkSource.COUNTERS(counters_count=len(hard)),
        required=False,
        why_fail=LinkReason.UNCORRECTED(risen=rises(hard)),
    )
    ways = {way: sums.direction(way, width_lanes) for way in WAYS}
    for way, found in ways.items():
        broken = isinstance(found, NotMeasured) and found.reason in sums.broken.values()
        own = of_way(sums.errors, way)
        yield _events(f"link_errors {way}", [found], own, required=broken)
    yield _most_permitted(
        _events("new_link_errors", list(ways.values()), sums.errors), most_permitted, sums
    )
    strange = not_of_the_wire(sums.errors)
    if any(strange.values()):
        why = LinkReason.BESIDE_THE_WIRE(risen=rises(strange))
        count, source = float(sum(strange.values())), LinkSource.COUNTERS(
            counters_count=len(strange)
        )
        yield Reading(
            "other_link_errors", count, "", 0.0, Limit(0, 0), (), Verdict.UNSURE, why, source
        )


def _events(
    name: str,
    ways: list[Direction | NotMeasured],
    errors: Mapping[str, int],
    *,
    required: bool = True,
) -> Reading:
    """Events of the ways that can be seen, against what the specified rate gives in their bits."""
    seen = [way for way in ways if not isinstance(way, NotMeasured)]
    if not seen:
        unseen = next(way for way in ways if isinstance(way, NotMeasured))
        return not_measured(name, "", unseen.reason, required=required)
    count = sum(way.errors_at_least for way in seen)
    bits = sum(way.moved_bytes for way in seen) * 8.0
    allowed = bits * SPECIFIED_RATE
    why = LinkReason.MORE_THAN_RATE(
        errors_count=count,
        lower_count=poisson_lower(count),
        allowed_count=allowed,
        rate=SPECIFIED_RATE,
        risen=rises(errors),
    )
    source = _no_sign(len(errors), count, bits)
    return judge_count(name, count, allowed, source=source, required=required, why_fail=why)


def _no_sign(counters: int, count: int, bits: float) -> Source:
    return LinkSource.NO_SIGN(
        counters_count=counters,
        bits=bits,
        rate=SPECIFIED_RATE,
        allowed_count=bits * SPECIFIED_RATE,
        upper_count=poisson_upper(count),
    )


def _most_permitted(reading: Reading, most: int | None, sums: Traffic) -> Reading:
    """Unsure where the profile permits fewer errors than were seen, though chance would do."""
    limit, count = reading.limit, reading.value
    if most is None or limit is None or not isinstance(count, float) or count <= most:
        return reading
    if reading.verdict is not Verdict.PASS:
        return reading
    why = LinkReason.NEW_ERRORS_UNPROVEN(
        errors_count=int(count),
        risen=rises(sums.errors),
        rate=SPECIFIED_RATE,
        allowed_count=limit.upper,
    )
    return replace(reading, verdict=Verdict.UNSURE, reason=why)


def _bound(
    rate: float, way: str, sums: Traffic, link: Link, missing: Reason | None
) -> Iterator[Reading]:
    name, limit = f"error_rate_per_lane {way}", Limit(upper=rate)
    width = known(link.card.width_lanes)
    if missing is None and width is None:
        missing = LinkReason.WIDTH_UNKNOWN()
    lanes = width or 1
    direction = NotMeasured(missing) if missing is not None else sums.direction(way, lanes)
    if isinstance(direction, NotMeasured):
        yield not_measured(name, "", direction.reason, limit=limit)
        return
    yield _judged_bound(name, direction, rate, limit, sums.seconds)
    average = direction.bound_of_average()
    nothing = NotMeasured(LinkReason.NOTHING_MOVED())
    yield judge(
        f"error_rate_average_over_lanes {way}",
        average if math.isfinite(average) else nothing,
        "",
        None,
        source=LinkSource.MEAN_BOUND(),
        required=False,
    )


def _judged_bound(
    name: str, direction: Direction, rate: float, limit: Limit, traffic_s: float
) -> Reading:
    bound, bits = direction.bound_per_lane(), direction.bits_per_lane
    source = LinkSource.RATE_BOUND(
        errors_count=direction.errors,
        bits=bits,
        lanes=direction.width_lanes,
        traffic_s=traffic_s,
    )
    if direction.shown(rate):
        return judge(name, bound, "", limit, source=source)
    if direction.refuted(rate):
        why = LinkReason.RATE_REFUTED(
            errors_count=direction.errors, bits=bits * direction.width_lanes, rate=rate
        )
        return judge(name, bound, "", limit, source=source, why_fail=why)
    if math.isfinite(bound):
        still_open = LinkReason.RATE_OPEN(traffic_s=traffic_s, bound=bound)
    else:
        still_open = LinkReason.RATE_OPEN_NOTHING_MOVED(traffic_s=traffic_s)
    return not_measured(name, "", still_open, limit=limit)
