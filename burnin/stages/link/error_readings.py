"""Readings of the errors that traffic brought: new ones, and the bound on the bit error rate."""

from __future__ import annotations

import math
from collections.abc import Iterator

from burnin.card.capabilities import Link
from burnin.core.meaning import Reason
from burnin.core.reading import Limit, NotMeasured, Reading, Verdict, judge, known, not_measured
from burnin.stages.context import StageContext
from burnin.stages.counters import rises, uncorrected
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
    limit = Limit(0.0, float(settings.new_errors_at_most))
    missing = sums.counters_missing
    if no_traffic is not None:
        missing = LinkReason.ERRORS_NEED_TRAFFIC(reason=no_traffic)
    elif missing is None and not sums.errors:
        missing = LinkReason.NO_COUNTER_TWICE()
    if sums.unusable:
        context.note(LinkNote.COUNTERS_UNUSABLE(reasons=sums.unusable))
    if missing is not None:
        context.take(not_measured("new_link_errors", "", missing, limit=limit))
    else:
        context.note(
            LinkNote.COUNTERS(
                errors=tuple(
                    LinkNote.COUNTER(counter=name, increase=rise)
                    for name, rise in sums.errors.items()
                )
            )
        )
        for reading in _new_errors(sums, link, limit):
            context.take(reading)
    if settings.error_rate_bound is not None:
        for way in WAYS:
            for reading in _bound(settings.error_rate_bound, way, sums, link, missing):
                context.take(reading)


def _new_errors(sums: Traffic, link: Link, limit: Limit) -> Iterator[Reading]:
    """Errors that were sent again, judged by what the specification allows, and all others.

    A few errors prove neither a fault nor soundness: the specification itself allows one in 10^12
    bits on each lane. More than the profile allows fails only where the rate is proven to be worse.
    """
    hard = uncorrected(sums.errors)
    yield judge(
        "uncorrected_link_errors",
        float(sum(hard.values())),
        "",
        Limit(0, 0),
        source=LinkSource.COUNTERS(counters_count=len(hard)),
        required=False,
        why_fail=LinkReason.UNCORRECTED(risen=rises(hard)),
    )
    name, counted = "new_link_errors", sum(sums.errors.values())
    source = LinkSource.COUNTERS(counters_count=len(sums.errors))
    if limit.upper is not None and counted <= limit.upper:
        yield judge(name, float(counted), "", limit, source=source)
        return
    seen = sums.directions(known(link.card.width_lanes) or 1)
    risen = rises(sums.errors)
    if not seen or any(way.refuted(SPECIFIED_RATE) for way in seen):
        why = LinkReason.NEW_ERRORS(errors_count=counted, risen=risen)
        yield judge(name, float(counted), "", limit, source=source, why_fail=why)
        return
    allowed = sum(way.moved_bytes for way in seen) * 8.0 * SPECIFIED_RATE
    why = LinkReason.NEW_ERRORS_UNPROVEN(
        errors_count=counted, risen=risen, rate=SPECIFIED_RATE, allowed_count=allowed
    )
    yield Reading(name, float(counted), "", 0.0, limit, (), Verdict.UNSURE, why, source)


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
