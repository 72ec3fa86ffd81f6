"""Readings from the link's traffic: errors, copy rates, and the bound on the bit error rate."""

from __future__ import annotations

import math
from collections.abc import Mapping

from burnin.card.card import Link
from burnin.card.rates import generation_of_speed, payload_limit_gbs
from burnin.core.clock import duration
from burnin.core.reading import Limit, NotMeasured, Reading, Verdict, judge, known, not_measured
from burnin.profile.model import LinkCheck
from burnin.stages.context import StageContext
from burnin.stages.counters import uncorrected
from burnin.stages.link.traffic import Traffic

SPECIFIED_RATE = 1e-12
"""Bit error rate that the base specification asks of every lane (as quoted by Astera Labs)."""
_WAYS = (("to_card", "to_card_bytes"), ("to_host", "to_host_bytes"))


def take_errors(
    context: StageContext, settings: LinkCheck, sums: Traffic, link: Link, why_no_traffic: str
) -> None:
    """New errors of all counters, and the bound on the error rate where the profile asks."""
    limit = Limit(0.0, float(settings.new_errors_at_most))
    missing = sums.counters_missing
    if why_no_traffic:
        missing = f"errors count only under traffic: {why_no_traffic}"
    elif not missing and not sums.errors:
        missing = "no error counter could be read both before and after the traffic"
    if sums.unusable:
        context.note("counters that could not be used", counters=list(sums.unusable))
    if missing:
        context.take(not_measured("new_link_errors", "", missing, limit=limit))
    else:
        context.note("error counters, differences", errors=sums.errors, other=sums.other)
        _take_new_errors(context, sums, link, limit)
    if settings.error_rate_bound is not None:
        for way, _ in _WAYS:
            _take_bound(context, settings.error_rate_bound, way, sums, link, missing)


def _take_new_errors(context: StageContext, sums: Traffic, link: Link, limit: Limit) -> None:
    """Errors that were sent again, judged by what the specification allows, and all others.

    A few errors prove neither a fault nor soundness: the specification itself allows one in 10^12
    bits on each lane. More than the profile allows fails only where the rate is proven to be worse.
    """
    hard = uncorrected(sums.errors)
    context.take(
        judge(
            "uncorrected_link_errors",
            float(sum(hard.values())),
            "",
            Limit(0, 0),
            source=f"{len(hard)} counters, differences over the traffic",
            required=False,
            why_fail=f"errors that sending again does not mend: {_risen(hard)}",
        )
    )
    counted = sum(sums.errors.values())
    source = f"{len(sums.errors)} counters, differences over the traffic"
    if limit.upper is not None and counted <= limit.upper:
        context.take(judge("new_link_errors", float(counted), "", limit, source=source))
        return
    width = known(link.card.width_lanes) or 1
    ways = [sums.direction(way, width) for way, _ in _WAYS]
    seen = [way for way in ways if not isinstance(way, NotMeasured)]
    allowed = sum(way.moved_bytes for way in seen) * 8.0 * SPECIFIED_RATE
    told = f"{counted} new errors under traffic: {_risen(sums.errors)}"
    if not seen or any(way.refuted(SPECIFIED_RATE) for way in seen):
        context.take(
            judge("new_link_errors", float(counted), "", limit, source=source, why_fail=told)
        )
        return
    why = (
        f"{told}; {SPECIFIED_RATE:g} a bit would allow {allowed:.0f} in this traffic: "
        "a link soak tells"
    )
    context.take(
        Reading(
            "new_link_errors", float(counted), "", 0.0, limit, (), Verdict.UNSURE, why, source
        )
    )


def _risen(errors: Mapping[str, int]) -> str:
    return ", ".join(f"{name} {count}" for name, count in errors.items() if count)


def _take_bound(
    context: StageContext, rate: float, way: str, sums: Traffic, link: Link, missing: str
) -> None:
    name, limit = f"error_rate_per_lane {way}", Limit(upper=rate)
    width = known(link.card.width_lanes)
    found = NotMeasured(missing) if missing else None
    if found is None and width is None:
        found = NotMeasured("the width is not known")
    direction = found or sums.direction(way, width or 1)
    if isinstance(direction, NotMeasured):
        context.take(not_measured(name, "", direction.reason, limit=limit))
        return
    bound = direction.bound_per_lane()
    average = direction.bound_of_average()
    source = (
        f"upper bound at 95 %: {direction.errors} errors in {direction.bits_per_lane:.3g} bits "
        f"on each of {width} lanes in {duration(sums.seconds)} (Poisson)"
    )
    if direction.shown(rate):
        context.take(judge(name, bound, "", limit, source=source))
    elif direction.refuted(rate):
        why = (
            f"{direction.errors} errors in {direction.bits_per_lane * (width or 1):.3g} bits: "
            f"more than {rate:g} a bit even as the average over the lanes"
        )
        context.take(judge(name, bound, "", limit, source=source, why_fail=why))
    else:
        told = f"below {bound:.2g} so far" if math.isfinite(bound) else "no bit was moved"
        reason = f"neither shown nor refuted in {duration(sums.seconds)} of traffic: {told}"
        context.take(not_measured(name, "", reason, limit=limit))
    context.take(
        judge(
            f"error_rate_average_over_lanes {way}",
            average if math.isfinite(average) else NotMeasured("no bit was moved"),
            "",
            None,
            source="the same bound for the mean of all lanes: one bad lane can hide in it",
            required=False,
        )
    )


def take_rates(
    context: StageContext, settings: LinkCheck, sums: Traffic, link: Link, why_no_traffic: str
) -> None:
    """Words that arrived wrong, and the achieved copy rates beside what the link can carry."""
    if not sums.seconds:
        reason = why_no_traffic or "the copy gave no result"
        context.take(not_measured("copy_wrong_words", "", reason))
        return
    context.take(
        judge(
            "copy_wrong_words",
            float(sums.wrong_words),
            "",
            Limit(0.0, 0.0),
            source="every word that came back compared with the word sent",
            why_fail=f"{sums.wrong_words} words arrived wrong",
        )
    )
    rates_gbs = {way: getattr(sums, moved) / sums.seconds / 1e9 for way, moved in _WAYS}
    for way, rate_gbs in rates_gbs.items():
        context.take(judge(f"copy_{way}_gbs", rate_gbs, "GB/s", None, required=False))
    speed, width = known(link.card.speed_gts), known(link.card.width_lanes)
    generation = None if speed is None else known(generation_of_speed(speed))
    if generation is None or width is None:
        return
    limit_gbs = payload_limit_gbs(generation, width, _max_payload_bytes(context))
    share = settings.share_of_payload_limit_at_least
    context.take(
        judge(
            "copy_share_of_payload_limit",
            max(rates_gbs.values()) / limit_gbs,
            "",
            None if share is None else Limit(lower=share),
            source=f"of {limit_gbs:.1f} GB/s: line rate × payload/(payload + 24 bytes), "
            "Intel AN 456",
            required=share is not None,
        )
    )


def _max_payload_bytes(context: StageContext) -> int:
    """What the card is set to; 256 where it cannot be read (common practice, no source)."""
    space = context.card.configuration_space()
    if isinstance(space, NotMeasured):
        return 256
    return known(space.max_payload_bytes()) or 256
