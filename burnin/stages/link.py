"""Link: width and speed, idle and under traffic, against the lesser of card, slot and profile.

Width is judged always; speed only under traffic, because cards lower it when idle (law 9). Error
counters are judged by their differences alone (law 8).
"""

from __future__ import annotations

from burnin.card.card import Counter, Link, LinkEnd
from burnin.card.rates import GENERATIONS, generation_of_speed, payload_limit_gbs
from burnin.engine.job import LinkTraffic, Progress, TrafficResult, WorkEvent
from burnin.errors import EngineError
from burnin.profile import LinkCheck
from burnin.reading import Limit, NotMeasured, Reading, judge, known, not_measured
from burnin.sample import Sample
from burnin.stages.context import StageContext
from burnin.stages.counters import difference
from burnin.stages.working import run_job

_SETTLE_S = 1.5
"""A card that lowered its link speed when idle needs a moment to raise it again."""


def carry_out(context: StageContext, settings: LinkCheck) -> None:
    """Read the idle link, put traffic on it, read it all the while, compare counters."""
    context.rest(settings.idle_s)
    idle = context.card.link()
    _take_idle(context, idle)
    before = context.card.error_counters()
    seen: list[tuple[float, float | None, float | None]] = []
    traffic: list[TrafficResult] = []
    begin_s = context.clock.monotonic_s()

    def on_sample(_: Sample) -> None:
        end = context.card.link().card
        since_s = context.clock.monotonic_s() - begin_s
        seen.append((since_s, known(end.speed_gts), known(end.width_lanes)))
        context.progress(min(since_s, settings.load_s), settings.load_s, "s", "copying both ways")

    def on_event(event: WorkEvent) -> None:
        if isinstance(event, TrafficResult):
            traffic.append(event)
        elif isinstance(event, Progress) and event.note:
            context.progress(event.done, event.total, event.unit, event.note)

    why_no_traffic = ""
    try:
        run_job(context, LinkTraffic(settings.load_s), on_event, on_sample)
    except EngineError as error:
        if isinstance(context.engine, NotMeasured):
            why_no_traffic = str(error)
        else:
            raise
    loaded = context.card.link()
    _take_full_link(context, loaded, settings)
    _take_loaded(context, loaded, settings, seen, why_no_traffic)
    _take_counters(context, settings, before, context.card.error_counters(), why_no_traffic)
    _take_rates(context, settings, loaded, traffic[0] if traffic else None, why_no_traffic)


def _take_idle(context: StageContext, link: Link) -> None:
    end = link.card
    context.take(
        judge(
            "link_width_idle_lanes",
            _number(end.width_lanes),
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


def _number(value: int | float | NotMeasured) -> float | NotMeasured:
    return value if isinstance(value, NotMeasured) else float(value)


def _most(link: Link) -> tuple[float | None, float | None, str]:
    """The most that card and port offer together: lanes, GT/s, and who sets the bound."""
    ends: list[tuple[str, LinkEnd]] = [("card", link.card)]
    if not isinstance(link.port, NotMeasured):
        ends.append(("slot", link.port))
    widths = [(w, who) for who, e in ends if (w := known(e.max_width_lanes)) is not None]
    speeds = [(s, who) for who, e in ends if (s := known(e.max_speed_gts)) is not None]
    width, who_w = min(widths) if widths else (None, "")
    speed, who_s = min(speeds) if speeds else (None, "")
    return width, speed, who_w or who_s


def _take_full_link(context: StageContext, link: Link, settings: LinkCheck) -> None:
    """Where card or slot offer less than the profile, the rest is named as not shown."""
    width, speed, who = _most(link)
    want_speed = GENERATIONS[settings.generation].speed_gts
    if width is None or speed is None:
        reason = "neither card nor slot tells the most that it offers"
        context.take(not_measured("full_link_shown", "", reason))
        return
    missing = []
    if width < settings.width_lanes:
        missing.append(f"{settings.width_lanes} lanes (the {who} offers {width:g})")
    if speed < want_speed:
        missing.append(f"{want_speed:g} GT/s (the {who} offers {speed:g})")
    if missing:
        reason = f"cannot be shown on this bench: {' and '.join(missing)}"
        context.take(not_measured("full_link_shown", "", reason))


def _take_loaded(
    context: StageContext,
    link: Link,
    settings: LinkCheck,
    seen: list[tuple[float, float | None, float | None]],
    why_no_traffic: str,
) -> None:
    most_width, most_speed, _ = _most(link)
    class_width = float(settings.width_lanes)
    want_width = class_width if most_width is None else min(class_width, most_width)
    class_speed = GENERATIONS[settings.generation].speed_gts
    want_speed = class_speed if most_speed is None else min(class_speed, most_speed)
    widths = [w for _, _, w in seen if w is not None]
    if not widths and (now := known(link.card.width_lanes)) is not None:
        widths = [float(now)]
    width: float | NotMeasured = (
        min(widths) if widths else NotMeasured(_reason(link.card.width_lanes))
    )
    context.take(
        judge(
            "link_width_lanes",
            width,
            "lanes",
            Limit(want_width, want_width),
            source=link.card.source,
            why_fail=f"the link runs on {_text(width)} of {want_width:g} lanes",
        )
    )
    speeds = [s for since_s, s, _ in seen if s is not None and since_s >= _SETTLE_S]
    speed: float | NotMeasured
    if why_no_traffic:
        speed = NotMeasured(f"speed counts only under traffic: {why_no_traffic}")
    elif not speeds:
        speed = NotMeasured(_reason(link.card.speed_gts))
    else:
        speed = min(speeds)
    context.take(
        judge(
            "link_speed_gts",
            speed,
            "GT/s",
            Limit(want_speed, want_speed),
            source=link.card.source,
            why_fail=f"under traffic the link fell to {_text(speed)} of {want_speed:g} GT/s",
        )
    )


def _reason(value: object) -> str:
    return value.reason if isinstance(value, NotMeasured) else "no sample was taken under traffic"


def _text(value: float | NotMeasured) -> str:
    return "?" if isinstance(value, NotMeasured) else f"{value:g}"


def _take_counters(
    context: StageContext,
    settings: LinkCheck,
    before: tuple[Counter, ...] | NotMeasured,
    after: tuple[Counter, ...] | NotMeasured,
    why_no_traffic: str,
) -> None:
    limit = Limit(0.0, float(settings.new_errors_at_most))
    if why_no_traffic:
        reason = f"errors count only under traffic: {why_no_traffic}"
        context.take(not_measured("new_link_errors", "", reason, limit=limit))
        return
    if isinstance(before, NotMeasured) or isinstance(after, NotMeasured):
        lacking = before if isinstance(before, NotMeasured) else after
        assert isinstance(lacking, NotMeasured)
        context.take(not_measured("new_link_errors", "", lacking.reason, limit=limit))
        return
    change = difference(before, after)
    if change.unusable:
        context.note("counters that could not be used", counters=list(change.unusable))
    if not change.errors:
        reason = "no error counter could be read both before and after the traffic"
        context.take(not_measured("new_link_errors", "", reason, limit=limit))
        return
    total = float(sum(change.errors.values()))
    risen = {name: count for name, count in change.errors.items() if count}
    context.note("error counters, differences", errors=change.errors, other=change.other)
    told = ", ".join(f"{name} {count}" for name, count in risen.items())
    context.take(
        judge(
            "new_link_errors",
            total,
            "",
            limit,
            source=f"{len(change.errors)} counters, differences over the traffic",
            why_fail=f"{total:g} new errors under traffic: {told}",
        )
    )


def _take_rates(
    context: StageContext,
    settings: LinkCheck,
    link: Link,
    traffic: TrafficResult | None,
    why_no_traffic: str,
) -> None:
    share_limit = settings.share_of_payload_limit_at_least
    if traffic is None:
        reason = why_no_traffic or "the copy gave no result"
        context.take(not_measured("copy_wrong_words", "", reason))
        return
    context.take(
        judge(
            "copy_wrong_words",
            float(traffic.wrong_words),
            "",
            Limit(0.0, 0.0),
            source="every word that came back compared with the word sent",
            why_fail=f"{traffic.wrong_words} words arrived wrong",
        )
    )
    readings: list[Reading] = [
        judge("copy_to_card_gbs", traffic.to_card_gbs, "GB/s", None, required=False),
        judge("copy_to_host_gbs", traffic.to_host_gbs, "GB/s", None, required=False),
    ]
    speed, width = known(link.card.speed_gts), known(link.card.width_lanes)
    generation = None if speed is None else known(generation_of_speed(speed))
    if generation is not None and width is not None:
        limit_gbs = payload_limit_gbs(generation, width, _max_payload_bytes(context))
        best = max(traffic.to_card_gbs, traffic.to_host_gbs)
        readings.append(
            judge(
                "copy_share_of_payload_limit",
                best / limit_gbs,
                "",
                None if share_limit is None else Limit(lower=share_limit),
                source="copy rate over line rate × payload/(payload + 24 bytes), Intel AN 456",
                required=share_limit is not None,
            )
        )
    for reading in readings:
        context.take(reading)


def _max_payload_bytes(context: StageContext) -> int:
    """What the card is set to; 256 where it cannot be read (common practice, no source)."""
    space = context.card.configuration_space()
    if isinstance(space, NotMeasured):
        return 256
    return known(space.max_payload_bytes()) or 256
