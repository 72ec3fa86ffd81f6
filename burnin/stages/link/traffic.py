"""Traffic on the link: copied in stretches, until its time is over or the error rate is decided.

After each stretch the sums and the error counters go on record, so that a soak of days goes on
after a power cut from what was proven.
"""

from __future__ import annotations

import math

from burnin.card.capabilities import Counter, Link
from burnin.card.rates import generation_of_speed
from burnin.core.meaning import Note
from burnin.core.reading import NotMeasured, known
from burnin.core.sample import Sample
from burnin.engine.job import LinkTraffic, Progress, Started, TrafficResult, WorkEvent
from burnin.stages.context import StageContext
from burnin.stages.counters import CounterChange, difference
from burnin.stages.link.ends_seen import EndsSeen, Needs
from burnin.stages.link.error_rate import seconds_to_show
from burnin.stages.link.meanings import LinkNote
from burnin.stages.link.settings import LinkCheck
from burnin.stages.link.sums import Traffic
from burnin.stages.working import run_job

STRETCH_S = 30.0


def put_traffic(
    context: StageContext[Needs], settings: LinkCheck, seen: EndsSeen, sums: Traffic
) -> None:
    """Copy both ways until load_s is over and, where asked, the error rate is shown or refuted.

    Raises what `run_job` raises; `sums` holds what was done until then. A soak that goes on after a
    cut copies for one stretch at least: speed, rate and lanes are seen in this attempt alone.
    """
    done_s = sums.seconds
    announced = _announced(context.card.link(), settings, sums)
    if announced is not None:
        context.note(announced)
    begin_s = context.clock.monotonic_s()
    before = context.card.error_counters()
    while True:
        to_see_s = min(settings.load_s, STRETCH_S) - (sums.seconds - done_s)
        left_s = max(_left_s(settings, sums, context.card.link(), seen), to_see_s)
        if left_s <= 0.0:
            return
        result = _stretch(context, settings, seen, sums, min(left_s, STRETCH_S), begin_s)
        after = context.card.error_counters()
        sums.add(result, _change(before, after))
        before = after
        context.publish(sums.as_event(context.stage))
        if result.seconds <= 0.0 or (result.to_card_bytes == 0 and result.to_host_bytes == 0):
            return


def _announced(link: Link, settings: LinkCheck, sums: Traffic) -> Note | None:
    """Said beforehand: how long the error rate takes to show."""
    rate = settings.error_rate_bound
    if rate is None:
        return None
    speed = known(link.card.max_speed_gts)
    generation = None if speed is None else known(generation_of_speed(speed))
    if generation is None:
        return None
    takes_s = seconds_to_show(rate, generation)
    if not sums.seconds:
        return LinkNote.RATE_TAKES(rate=rate, takes_s=takes_s, generation=generation)
    return LinkNote.RATE_TAKES_FURTHER(
        rate=rate, takes_s=takes_s, generation=generation, done_s=sums.seconds
    )


def _left_s(settings: LinkCheck, sums: Traffic, link: Link, seen: EndsSeen) -> float:
    """Seconds of traffic that are still wanted."""
    least_s = settings.load_s - sums.seconds
    rate = settings.error_rate_bound
    width = known(link.card.width_lanes)
    if rate is None or width is None or _fallen(link, seen):
        return least_s
    if sums.seconds == 0.0:
        return max(least_s, min(STRETCH_S, settings.error_rate_within_s))
    open_ways = [
        way
        for way in sums.directions(width)
        if not way.shown(rate) and not way.refuted(rate)
    ]
    if not open_ways:
        return least_s
    wanted_s = 0.0
    for way in open_ways:
        if way.bits_per_lane:
            # At the present rate and without a further error.
            times = way.bound_per_lane() / rate
            wanted_s = max(wanted_s, sums.seconds * (times - 1.0) * 1.01)
    within_s = settings.error_rate_within_s - sums.seconds
    return max(least_s, min(wanted_s, within_s))


def _fallen(link: Link, seen: EndsSeen) -> bool:
    """Whether the link ran slower under traffic than both ends can.

    Its error rate at the lower speed answers no question.
    """
    port = known(link.port)
    most = [known(end.max_speed_gts) for end in (link.card, port) if end is not None]
    offered = [speed for speed in most if speed is not None]
    ran = seen.card_end.speeds_seen_gts
    return bool(ran) and bool(offered) and min(ran) < min(offered)


def _stretch(
    context: StageContext[Needs],
    settings: LinkCheck,
    seen: EndsSeen,
    sums: Traffic,
    seconds: float,
    begin_s: float,
) -> TrafficResult:
    results: list[TrafficResult] = []

    def on_sample(_: Sample) -> None:
        since_s = context.clock.monotonic_s() - begin_s
        seen.add(since_s)
        total_s = max(settings.load_s, sums.seconds + seconds)
        copying = _copying(context.card.link(), settings, sums)
        context.progress(min(since_s, total_s), total_s, "s", copying)

    def on_event(event: WorkEvent) -> None:
        if isinstance(event, TrafficResult):
            results.append(event)
        elif isinstance(event, Started) and not sums.seconds:
            context.note(event.plan)
        elif isinstance(event, Progress) and event.note:
            context.progress(event.done, event.total, event.unit, event.note)

    run_job(context, LinkTraffic(seconds), on_event, on_sample)
    return results[0]


def _copying(link: Link, settings: LinkCheck, sums: Traffic) -> Note:
    width = known(link.card.width_lanes)
    if settings.error_rate_bound is None or not sums.seconds or width is None:
        return LinkNote.COPYING()
    bounds = [way.bound_per_lane() for way in sums.directions(width)]
    worst = max(bounds, default=math.inf)
    return LinkNote.COPYING_BOUND(bound=worst) if math.isfinite(worst) else LinkNote.COPYING()


def _change(
    before: tuple[Counter, ...] | NotMeasured, after: tuple[Counter, ...] | NotMeasured
) -> CounterChange | NotMeasured:
    if isinstance(before, NotMeasured):
        return before
    if isinstance(after, NotMeasured):
        return after
    return difference(before, after)
