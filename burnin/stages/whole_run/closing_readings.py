"""The readings of the closing part: what held to the end, and what broke when and under what.

One sample of a value that is known to flicker while a link retrains or a driver refreshes it
(width, speed, slow-down) leaves its reading unsure; two in a row fail it. Presence never flickers.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TypeVar

from burnin.core.meaning import Reason, Source, Value
from burnin.core.reading import Limit, Reading, Verdict, judge, not_measured
from burnin.core.sample import Slowdown
from burnin.stages.whole_run.meanings import WholeRunReason, WholeRunSource
from burnin.stages.whole_run.power_watch import counter_readings
from burnin.stages.whole_run.spans import Span, conditions, lasted_s
from burnin.stages.whole_run.watch import RunWatch

V = TypeVar("V")
Titles = Mapping[str, Value]

_STEADY_SAMPLES = 3
"""So many samples show a width or a speed."""
_NEVER_REACHED_S = 20.0
"""A stretch of work that long must reach the speed that others had."""
_SILENT_S = 5.0
_SAME_MOMENT_S = 0.5
_CLOCK_SHARE_LEAST = 0.9
_CLOCK_SHARE_U = 0.02


def closing_readings(
    watch: RunWatch, titles: Titles, ended_at_s: float | None = None
) -> tuple[Reading, ...]:
    """Judge what the samples of a run showed; `titles` are those of its stages by name.

    `ended_at_s`: when a guard or a lost card ended the load; what ended it has been told, so that
    a card gone to the end and a slow-down from then on are not told again.
    """
    watch.even_load.end()
    found = (
        _presence(watch, titles, ended_at_s is not None),
        _width(watch, titles),
        _speed(watch, titles),
        _slowed(watch, titles, ended_at_s),
        _clock(watch, titles),
    )
    return (*found, *counter_readings(watch.power, _source(watch)))


def width_breaches(watch: RunWatch) -> tuple[float | None, list[Span[float]]]:
    """The width that was shown, and the spans below it."""
    shown = _shown(watch.widths)
    if shown is None:
        return None, []
    return shown, [span for span in watch.widths if span.value < shown]


def speed_breaches(watch: RunWatch) -> tuple[float | None, list[Span[float]]]:
    """The speed that was shown under work, and the spans of work below it."""
    spans = [span for stretch in watch.stretches for span in stretch]
    shown = _shown(spans)
    if shown is None:
        return None, []
    low: list[Span[float]] = []
    for stretch in watch.stretches:
        reached = next((n for n, span in enumerate(stretch) if span.value >= shown), None)
        if reached is not None:
            low += [span for span in stretch[reached:] if span.value < shown]
        elif lasted_s(stretch) >= _NEVER_REACHED_S:
            low += stretch
    return shown, low


def _shown(spans: Sequence[Span[float]]) -> float | None:
    """The highest value that enough samples told."""
    counts: dict[float, int] = {}
    for span in spans:
        counts[span.value] = counts.get(span.value, 0) + span.count
    return max((v for v, count in counts.items() if count >= _STEADY_SAMPLES), default=None)


def fell_only_warm(watch: RunWatch) -> float | None:
    """The temperature above which alone the link fell, °C; None where it did not hang on it."""
    shown, low = width_breaches(watch)
    whole = [span for span in watch.widths if span.value == shown]
    if not low:
        shown, low = speed_breaches(watch)
        whole = [s for stretch in watch.stretches for s in stretch if s.value == shown]
    return _warmer(low, whole)


def _warmer(low: Sequence[Span[V]], whole: Sequence[Span[V]]) -> float | None:
    if not low or not whole:
        return None
    began = [span.gpu_temp_c for span in low]
    before = whole[0].coolest_c
    told = [temp_c for temp_c in began if temp_c is not None]
    if before is None or len(told) != len(began) or min(told) < before + 5.0:
        return None
    return min(told)


def _presence(watch: RunWatch, titles: Titles, gone_told: bool) -> Reading:
    spans = watch.presence[:-1] if gone_told and not watch.presence[-1].value else watch.presence
    gone = [span for span in spans if not span.value]
    count = sum(span.count for span in gone)
    why = None
    if gone:
        why = WholeRunReason.GONE(times_count=len(gone), **_when(gone, titles))
    return judge(
        "whole_run_samples_gone", float(count), "", Limit(0, 0), source=_source(watch), why_fail=why
    )


def _width(watch: RunWatch, titles: Titles) -> Reading:
    name = "whole_run_width_lanes"
    shown, low = width_breaches(watch)
    if shown is None:
        return not_measured(name, "lanes", WholeRunReason.NOT_SEEN(), required=False)
    silent = _silent_from(watch, watch.width_told_s)
    limit = Limit(lower=shown)
    if not low and silent is not None:
        why = WholeRunReason.NOT_TO_THE_END(at_s=silent)
        return not_measured(name, "lanes", why, limit=limit)
    least = min((span.value for span in low), default=shown)
    reason = None
    if low:
        warmer = _warmer(low, [span for span in watch.widths if span.value == shown])
        reason = WholeRunReason.WIDTH_FELL(
            lanes=least, shown_lanes=shown, **_when(low, titles, warmer)
        )
    return _judged(name, least, "lanes", limit, reason, low, watch)


def _speed(watch: RunWatch, titles: Titles) -> Reading:
    name = "whole_run_speed_gts"
    shown, low = speed_breaches(watch)
    if shown is None:
        return not_measured(name, "GT/s", WholeRunReason.NOT_SEEN(), required=False)
    least = min((span.value for span in low), default=shown)
    reason = None
    if low:
        whole = [s for stretch in watch.stretches for s in stretch if s.value == shown]
        reason = WholeRunReason.SPEED_FELL(
            speed_gts=least, shown_gts=shown, **_when(low, titles, _warmer(low, whole))
        )
    return _judged(name, least, "GT/s", Limit(lower=shown), reason, low, watch)


def _slowed(watch: RunWatch, titles: Titles, ended_at_s: float | None) -> Reading:
    name = "whole_run_slowed_samples"
    if watch.slowdown_told_s is None:
        return not_measured(name, "", WholeRunReason.NOT_SEEN(), required=False)
    # What held before the first load, and ever since, is not new.
    spans = [s for n, s in enumerate(watch.slowed) if s.value and (n or s.load_share > 0.0)]
    if ended_at_s is not None:
        spans = [span for span in spans if span.from_s < ended_at_s - _SAME_MOMENT_S]
    count = sum(span.count for span in spans)
    reason = None
    if spans:
        told: dict[Slowdown, None] = {}
        for span in spans:
            told.update(dict.fromkeys(sorted(span.value)))
        reason = WholeRunReason.SLOWED(
            slowdowns=tuple(str(slowdown) for slowdown in told), **_when(spans, titles)
        )
    return _judged(name, float(count), "", Limit(0, 0), reason, spans, watch)


def _clock(watch: RunWatch, titles: Titles) -> Reading:
    name, held = "whole_run_clock_share", watch.even_load.worst
    limit = Limit(lower=_CLOCK_SHARE_LEAST)
    if held is None:
        return not_measured(name, "", WholeRunReason.NO_EVEN_LOAD(), required=False)
    why = WholeRunReason.CLOCK_FELL(
        from_mhz=held.from_mhz,
        to_mhz=held.to_mhz,
        at_s=held.span.from_s,
        stage=titles.get(held.span.stage, held.span.stage),
        conditions=conditions(held.span),
    )
    return judge(
        name,
        held.share,
        "",
        limit,
        uncertainty=_CLOCK_SHARE_U,
        source=_source(watch),
        why_fail=why,
    )


def _judged(
    name: str,
    value: float,
    unit: str,
    limit: Limit,
    reason: Reason | None,
    low: Sequence[Span[V]],
    watch: RunWatch,
) -> Reading:
    source = _source(watch)
    if reason is not None and all(span.count < 2 for span in low):
        why = WholeRunReason.ONE_SAMPLE(reason=reason)
        return Reading(name, value, unit, 0.0, limit, (), Verdict.UNSURE, why, source)
    verdict = Verdict.PASS if reason is None else Verdict.FAIL
    return Reading(name, value, unit, 0.0, limit, (), verdict, reason, source)


def _when(
    spans: Sequence[Span[V]], titles: Titles, warmer_c: float | None = None
) -> dict[str, Value]:
    first = spans[0]
    return {
        "at_s": first.from_s,
        "for_s": lasted_s(spans),
        "stage": titles.get(first.stage, first.stage),
        "conditions": conditions(first, warmer_c),
    }


def _silent_from(watch: RunWatch, told_s: float | None) -> float | None:
    """From when on a value was not told any more although the card answered; None: to the end."""
    last = watch.presence[-1]
    until_s = last.to_s if last.value else last.from_s
    return told_s if told_s is not None and until_s - told_s > _SILENT_S else None


def _source(watch: RunWatch) -> Source:
    return WholeRunSource.SAMPLES(
        samples_count=watch.samples_count, from_s=watch.first_s, to_s=watch.last_s
    )
