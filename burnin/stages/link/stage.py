"""Link: width and speed, idle and under traffic, against the lesser of card, slot and profile.

Width is judged always; speed only under traffic, because cards lower it when idle (law 9). Error
counters are judged by their differences alone (law 8).
"""

from __future__ import annotations

from burnin.card.card import Link, LinkEnd
from burnin.card.rates import GENERATIONS
from burnin.core.errors import EngineError
from burnin.core.reading import Limit, NotMeasured, judge, known, not_measured
from burnin.profile.model import LinkCheck
from burnin.stages.context import StageContext
from burnin.stages.link.rates import take_errors, take_rates
from burnin.stages.link.traffic import Traffic, put_traffic, traffic_from
from burnin.stages.link.trained import LinkSeen


def carry_out(context: StageContext, settings: LinkCheck) -> None:
    """Read the idle link, put traffic on it, read it all the while, compare counters."""
    context.rest(settings.idle_s)
    seen = LinkSeen(context.card)
    _take_idle(context, seen.idle)
    told = context.soak_so_far
    sums = Traffic() if told is None else traffic_from(told)
    why_no_traffic = ""
    try:
        put_traffic(context, settings, seen, sums)
    except EngineError as error:
        if not isinstance(context.engine, NotMeasured):
            raise
        why_no_traffic = str(error)
    finally:
        traffic = sums.told() if sums.seconds else None
        context.note("link, both ends", **seen.told(), traffic=traffic)
    link = context.card.link()
    _take_full_link(context, link, settings)
    _take_loaded(context, link, settings, seen, why_no_traffic)
    take_errors(context, settings, sums, link, why_no_traffic)
    _take_lane_errors(context, seen)
    take_rates(context, settings, sums, link, why_no_traffic)


def _take_idle(context: StageContext, link: Link) -> None:
    end = link.card
    width = end.width_lanes
    context.take(
        judge(
            "link_width_idle_lanes",
            width if isinstance(width, NotMeasured) else float(width),
            "lanes",
            None,
            source=end.source,
            required=False,
        )
    )
    context.take(
        judge(
            "link_speed_idle_gts", end.speed_gts, "GT/s", None, source=end.source, required=False
        )
    )


def _most(link: Link) -> tuple[tuple[float, str] | None, tuple[float, str] | None]:
    """The most lanes and GT/s that card and slot offer together, and who sets each bound."""
    ends: list[tuple[str, LinkEnd]] = [("card", link.card)]
    if not isinstance(link.port, NotMeasured):
        ends.append(("slot", link.port))
    widths = [(float(w), who) for who, e in ends if (w := known(e.max_width_lanes)) is not None]
    speeds = [(s, who) for who, e in ends if (s := known(e.max_speed_gts)) is not None]
    return min(widths, default=None), min(speeds, default=None)


def _take_full_link(context: StageContext, link: Link, settings: LinkCheck) -> None:
    """Where card or slot offer less than the profile, the rest is named as not shown."""
    width, speed = _most(link)
    want_speed = GENERATIONS[settings.generation].speed_gts
    if width is None or speed is None:
        reason = "neither card nor slot tells the most that it offers"
        context.take(not_measured("full_link_shown", "", reason))
        return
    missing = []
    if width[0] < settings.width_lanes:
        missing.append(f"{settings.width_lanes} lanes (the {width[1]} offers {width[0]:g})")
    if speed[0] < want_speed:
        missing.append(f"{want_speed:g} GT/s (the {speed[1]} offers {speed[0]:g})")
    if missing:
        reason = f"cannot be shown on this bench: {' and '.join(missing)}"
        context.take(not_measured("full_link_shown", "", reason))


def _take_loaded(
    context: StageContext, link: Link, settings: LinkCheck, seen: LinkSeen, why_no_traffic: str
) -> None:
    most_width, most_speed = _most(link)
    want_width, want_speed = (
        float(settings.width_lanes),
        GENERATIONS[settings.generation].speed_gts,
    )
    if most_width is not None:
        want_width = min(want_width, most_width[0])
    if most_speed is not None:
        want_speed = min(want_speed, most_speed[0])
    widths = seen.card_end.widths_seen_lanes
    width: float | NotMeasured
    if widths:
        width = float(min(widths))
    else:
        now = link.card.width_lanes
        width = now if isinstance(now, NotMeasured) else float(now)
    context.take(
        judge(
            "link_width_lanes",
            width,
            "lanes",
            Limit(lower=want_width),
            source=link.card.source,
            why_fail=f"the link runs on {_text(width)} of {want_width:g} lanes",
        )
    )
    speeds = seen.card_end.speeds_seen_gts
    speed: float | NotMeasured
    if why_no_traffic:
        speed = NotMeasured(f"speed counts only under traffic: {why_no_traffic}")
    elif speeds:
        speed = min(speeds)
    else:
        now_gts = link.card.speed_gts
        unread = now_gts.reason if isinstance(now_gts, NotMeasured) else "traffic was too short"
        speed = NotMeasured(unread)
    context.take(
        judge(
            "link_speed_gts",
            speed,
            "GT/s",
            Limit(lower=want_speed),
            source=link.card.source,
            why_fail=f"under traffic the link fell to {_text(speed)} of {want_speed:g} GT/s",
        )
    )


def _text(value: float | NotMeasured) -> str:
    return "?" if isinstance(value, NotMeasured) else f"{value:g}"


def _take_lane_errors(context: StageContext, seen: LinkSeen) -> None:
    """Lanes whose error bit rose in this stage; only such a register names a lane (law 12)."""
    risen: list[str] = []
    read = False
    for end, told in seen.told().items():
        if not isinstance(told, dict):
            continue
        before, after = told["lane_errors_before"], told["lane_errors_after"]
        if before is None or after is None:
            continue
        read = True
        risen += [f"lane {lane} at the {end}" for lane in after if lane not in before]
    if not read:
        reason = "the lane error status register cannot be read at either end"
        context.take(not_measured("lanes_with_new_errors", "", reason, required=False))
        return
    context.take(
        judge(
            "lanes_with_new_errors",
            float(len(risen)),
            "",
            Limit(0, 0),
            source="lane error status (secondary PCI Express capability), bits that rose",
            required=False,
            why_fail=f"error bits rose on {', '.join(risen)}",
        )
    )
