"""Traffic on the link: copied in stretches, until its time is over or the error rate is decided.

After each stretch the sums and the error counters go into the journal, so that a soak of days goes
on after a power cut from what was proven.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from burnin.card.card import Counter, Link
from burnin.card.rates import generation_of_speed
from burnin.core.clock import duration
from burnin.core.reading import NotMeasured, known
from burnin.core.sample import Sample
from burnin.engine.job import LinkTraffic, Progress, Started, TrafficResult, WorkEvent
from burnin.profile.model import LinkCheck
from burnin.stages.context import StageContext
from burnin.stages.counters import CounterChange, difference, errors_by_direction
from burnin.stages.link.error_rate import Direction, seconds_to_show
from burnin.stages.link.trained import LinkSeen
from burnin.stages.load import run_job

STRETCH_S = 30.0
SOAK_NOTE = "link traffic so far"


@dataclass
class Traffic:
    """Sums over all stretches; `errors` and `other` are differences of counters by ``end name``.

    `counters_missing` says why there are none.
    """

    seconds: float = 0.0
    to_card_bytes: int = 0
    to_host_bytes: int = 0
    wrong_words: int = 0
    errors: dict[str, int] = field(default_factory=dict)
    other: dict[str, int] = field(default_factory=dict)
    unusable: tuple[str, ...] = ()
    counters_missing: str = ""

    def direction(self, name: str, width_lanes: int) -> Direction | NotMeasured:
        """Bits and errors of ``to_card`` or ``to_host``, or why errors there cannot be seen."""
        if self.counters_missing:
            return NotMeasured(self.counters_missing)
        errors = errors_by_direction(self.errors)[name]
        if isinstance(errors, NotMeasured):
            return errors
        moved = self.to_card_bytes if name == "to_card" else self.to_host_bytes
        return Direction(moved, errors.at_most, errors.at_least, width_lanes)

    def add(self, result: TrafficResult, change: CounterChange | NotMeasured) -> None:
        """Add one stretch."""
        self.seconds += result.seconds
        self.to_card_bytes += result.to_card_bytes
        self.to_host_bytes += result.to_host_bytes
        self.wrong_words += result.wrong_words
        if isinstance(change, NotMeasured):
            self.counters_missing = change.reason
            return
        for into, rises in ((self.errors, change.errors), (self.other, change.other)):
            for name, rise in rises.items():
                into[name] = into.get(name, 0) + rise
        self.unusable = tuple(dict.fromkeys((*self.unusable, *change.unusable)))

    def told(self) -> dict[str, object]:
        """As the journal keeps it."""
        return {
            "seconds": self.seconds,
            "to_card_bytes": self.to_card_bytes,
            "to_host_bytes": self.to_host_bytes,
            "wrong_words": self.wrong_words,
            "errors": dict(self.errors),
            "other": dict(self.other),
            "counters_missing": self.counters_missing,
        }


def traffic_from(told: Mapping[str, object]) -> Traffic:
    """Sums of an interrupted soak, from its last line in the journal."""
    sums = Traffic()
    for name in ("seconds", "to_card_bytes", "to_host_bytes", "wrong_words", "counters_missing"):
        setattr(sums, name, told[name])
    for name in ("errors", "other"):
        counts = told[name]
        assert isinstance(counts, Mapping)
        setattr(sums, name, {str(k): int(v) for k, v in counts.items()})
    return sums


def put_traffic(
    context: StageContext, settings: LinkCheck, seen: LinkSeen, sums: Traffic
) -> None:
    """Copy both ways until load_s is over and, where asked, the error rate is shown or refuted.

    Raises what `run_job` raises; `sums` holds what was done until then.
    """
    _announce(context, settings, sums)
    begin_s = context.clock.monotonic_s()
    before = context.card.error_counters()
    while True:
        left_s = _left_s(settings, sums, context.card.link(), seen)
        if left_s <= 0.0:
            return
        result = _stretch(context, settings, seen, sums, min(left_s, STRETCH_S), begin_s)
        after = context.card.error_counters()
        sums.add(result, _change(before, after))
        before = after
        context.note(SOAK_NOTE, **sums.told())
        if result.seconds <= 0.0 or (result.to_card_bytes == 0 and result.to_host_bytes == 0):
            return


def _announce(context: StageContext, settings: LinkCheck, sums: Traffic) -> None:
    """Say beforehand how long the error rate takes to show."""
    rate = settings.error_rate_bound
    if rate is None:
        return
    speed = known(context.card.link().card.max_speed_gts)
    generation = None if speed is None else known(generation_of_speed(speed))
    if generation is None:
        return
    at_best = duration(seconds_to_show(rate, generation))
    done = f", {duration(sums.seconds)} of traffic already done" if sums.seconds else ""
    context.note(
        f"{rate:g} errors a bit on each lane: takes {at_best} at the full rate of generation "
        f"{generation}, longer where the copies do not fill the line{done}"
    )


def _left_s(settings: LinkCheck, sums: Traffic, link: Link, seen: LinkSeen) -> float:
    """Seconds of traffic that are still wanted."""
    least_s = settings.load_s - sums.seconds
    rate = settings.error_rate_bound
    width = known(link.card.width_lanes)
    if rate is None or width is None or _fallen(link, seen):
        return least_s
    if sums.seconds == 0.0:
        return max(least_s, min(STRETCH_S, settings.error_rate_within_s))
    ways = [sums.direction(name, width) for name in ("to_card", "to_host")]
    open_ways = [
        way
        for way in ways
        if not isinstance(way, NotMeasured) and not way.shown(rate) and not way.refuted(rate)
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


def _fallen(link: Link, seen: LinkSeen) -> bool:
    """Whether the link ran slower under traffic than both ends can.

    Its error rate at the lower speed answers no question.
    """
    port = known(link.port)
    most = [known(end.max_speed_gts) for end in (link.card, port) if end is not None]
    offered = [speed for speed in most if speed is not None]
    ran = seen.card_end.speeds_seen_gts
    return bool(ran) and bool(offered) and min(ran) < min(offered)


def _stretch(
    context: StageContext,
    settings: LinkCheck,
    seen: LinkSeen,
    sums: Traffic,
    seconds: float,
    begin_s: float,
) -> TrafficResult:
    results: list[TrafficResult] = []

    def on_sample(_: Sample) -> None:
        since_s = context.clock.monotonic_s() - begin_s
        seen.add(since_s)
        note = "copying both ways"
        if settings.error_rate_bound is not None and sums.seconds:
            note += f", {_so_far(context, sums)}"
        total_s = max(settings.load_s, sums.seconds + seconds)
        context.progress(min(since_s, total_s), total_s, "s", note)

    def on_event(event: WorkEvent) -> None:
        if isinstance(event, TrafficResult):
            results.append(event)
        elif isinstance(event, Started) and not sums.seconds:
            context.note(event.plan)
        elif isinstance(event, Progress) and event.note:
            context.progress(event.done, event.total, event.unit, event.note)

    run_job(context, LinkTraffic(seconds), on_event, on_sample)
    return results[0]


def _so_far(context: StageContext, sums: Traffic) -> str:
    width = known(context.card.link().card.width_lanes)
    if width is None:
        return ""
    ways = [sums.direction(name, width) for name in ("to_card", "to_host")]
    bounds = [w.bound_per_lane() for w in ways if not isinstance(w, NotMeasured)]
    worst = max(bounds, default=math.inf)
    return f"error rate per lane below {worst:.1e}" if math.isfinite(worst) else ""


def _change(
    before: tuple[Counter, ...] | NotMeasured, after: tuple[Counter, ...] | NotMeasured
) -> CounterChange | NotMeasured:
    if isinstance(before, NotMeasured):
        return before
    if isinstance(after, NotMeasured):
        return after
    return difference(before, after)
