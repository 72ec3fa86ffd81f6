"""Error counters over the whole run: differences stage by stage, judged once at its end (law 8).

Under link traffic the bits are known: all link stages together must show no sign of more errors
than the specified rate gives. How many bits a heat or memory stage moves is not known. So errors
beside traffic fail only where they are more than that rate gives on a line that was full all the
time, and pass only where they are no sign of more than it gives in what such work surely moves;
between, a link soak tells.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from burnin.core.events import TrafficSummed
from burnin.core.exact_intervals import poisson_lower
from burnin.core.meaning import Reason, distinct
from burnin.core.reading import Limit, NotMeasured, Reading, Verdict, judge, not_measured
from burnin.stages.counters import (
    Counted,
    difference,
    errors_by_direction,
    rises,
    uncorrected,
    unmended_count,
    went_on,
)
from burnin.stages.whole_run.closing_readings import speed_breaches, width_breaches
from burnin.stages.whole_run.meanings import WholeRunReason, WholeRunSource
from burnin.stages.whole_run.watch import RunWatch

SPECIFIED_RATE = 1e-12
"""Errors a bit that the base specification allows (as quoted by Astera Labs)."""
IN_TRAFFIC, BESIDE_TRAFFIC = "whole_run_errors_in_traffic", "whole_run_errors_beside_traffic"
UNCORRECTED = "whole_run_uncorrected_errors"
_MOVED_SHARE = 0.01
"""Share of the line that work without link traffic keeps busy at least (estimate, no source)."""
_CONFIDENCE = 0.95

Counters = Sequence[Counted] | NotMeasured


@dataclass
class ErrorWatch:
    """Sums of differences; `look` at the start, at the end of every stage, and of the run.

    `gone_on` says that a run which was interrupted goes on: counters that fell since the last look
    began anew with the bench. What they counted until the cut since that look nobody knows; the
    stage in which it came is done again.
    """

    errors: dict[str, int] = field(default_factory=dict)
    unusable: tuple[Reason, ...] = ()
    _traffic: dict[str, TrafficSummed] = field(default_factory=dict)
    _before: Counters | None = None
    _read_once: bool = False
    _why_unread: Reason | None = None
    _interrupted: bool = False

    def gone_on(self) -> None:
        """The next look comes after an interruption."""
        self._interrupted = self._before is not None

    def look(self, now: Counters) -> None:
        """Take in what the counters say now."""
        before, self._before = self._before, now
        interrupted, self._interrupted = self._interrupted, False
        if isinstance(now, NotMeasured):
            self._why_unread = now.reason
            if self._read_once:
                self.unusable = distinct((*self.unusable, now.reason))
            return
        self._read_once = True
        if before is None:
            return
        if isinstance(before, NotMeasured):
            self.unusable = distinct((*self.unusable, before.reason))
            return
        if interrupted:
            before = went_on(before, now)
            there = {(c.end, c.name) for c in before}
            now = tuple(c for c in now if (c.end, c.name) in there)
        change = difference(before, now)
        self.unusable = distinct((*self.unusable, *change.unusable))
        for name, rise in change.errors.items():
            self.errors[name] = self.errors.get(name, 0) + rise

    def moved(self, told: TrafficSummed) -> None:
        """Take in the sums of a link stage's traffic; a later one of its stage replaces it."""
        self._traffic[told.stage] = told

    def readings(self, watch: RunWatch) -> Iterator[Reading]:
        """Judge the errors of the whole run, under traffic and beside it."""
        in_traffic = _summed(self._traffic.values())
        if self._traffic and in_traffic:
            yield self._in_traffic(in_traffic)
        if not self._read_once:
            why = WholeRunReason.NO_COUNTERS(reason=self._why_unread or WholeRunReason.NOT_SEEN())
            yield not_measured(BESIDE_TRAFFIC, "", why, required=False)
            return
        yield self._beside(in_traffic, watch)
        unmended = self._unmended(in_traffic)
        if unmended is not None:
            yield unmended

    def _in_traffic(self, errors: dict[str, int]) -> Reading:
        moved = {
            "to_card": sum(told.to_card_bytes for told in self._traffic.values()),
            "to_host": sum(told.to_host_bytes for told in self._traffic.values()),
        }
        ways = _ways(errors)
        worst = max(ways, key=lambda way: ways[way], default="to_card")
        count = ways.get(worst, 0)
        limit = Limit(0.0, float(_no_sign_up_to(SPECIFIED_RATE * 8.0 * moved[worst])))
        source = WholeRunSource.COUNTERS(counters_count=len(errors))
        if limit.upper is not None and count <= limit.upper:
            return Reading(IN_TRAFFIC, float(count), "", 0.0, limit, (), Verdict.PASS, None, source)
        why = WholeRunReason.ERRORS_IN_TRAFFIC(
            errors_count=count,
            rate=SPECIFIED_RATE,
            allowed_count=SPECIFIED_RATE * 8.0 * moved[worst],
            risen=rises(errors),
        )
        return Reading(IN_TRAFFIC, float(count), "", 0.0, limit, (), Verdict.FAIL, why, source)

    def _beside(self, in_traffic: dict[str, int], watch: RunWatch) -> Reading:
        errors = {
            name: max(0, rise - in_traffic.get(name, 0)) for name, rise in self.errors.items()
        }
        ways = _ways(errors)
        count = max(ways.values(), default=0)
        line = SPECIFIED_RATE * self._line_bits(watch)
        limit = Limit(0.0, float(_no_sign_up_to(_MOVED_SHARE * line)))
        source = WholeRunSource.COUNTERS(counters_count=len(errors))
        name, value = BESIDE_TRAFFIC, float(count)
        if limit.upper is not None and count <= limit.upper:
            if self.unusable:
                lost = WholeRunReason.COUNTERS_LOST(reasons=self.unusable)
                return not_measured(name, "", lost, limit=limit)
            return Reading(name, value, "", 0.0, limit, (), Verdict.PASS, None, source)
        if poisson_lower(count, _CONFIDENCE) > line:
            why = WholeRunReason.ERRORS(
                errors_count=count, rate=SPECIFIED_RATE, risen=rises(errors)
            )
            return Reading(name, value, "", 0.0, limit, (), Verdict.FAIL, why, source)
        why = WholeRunReason.ERRORS_OPEN(errors_count=count, risen=rises(errors))
        return Reading(name, value, "", 0.0, limit, (), Verdict.UNSURE, why, source)

    def _unmended(self, in_traffic: dict[str, int]) -> Reading | None:
        """Errors that sending again does not mend: one is too many, whatever was moved."""
        errors = {n: max(0, rise - in_traffic.get(n, 0)) for n, rise in self.errors.items()}
        hard = uncorrected(errors)
        if not hard:
            return None
        if self.unusable and not any(hard.values()):
            lost = WholeRunReason.COUNTERS_LOST(reasons=self.unusable)
            return not_measured(UNCORRECTED, "", lost, limit=Limit(0, 0), required=False)
        return judge(
            UNCORRECTED,
            float(unmended_count(hard)),
            "",
            Limit(0, 0),
            source=WholeRunSource.COUNTERS(counters_count=len(hard)),
            required=False,
            why_fail=WholeRunReason.UNCORRECTED(risen=rises(hard)),
        )

    def _line_bits(self, watch: RunWatch) -> float:
        """Bits that a full line would have moved one way beside the link stages' traffic."""
        lanes, _ = width_breaches(watch)
        gts, _ = speed_breaches(watch)
        traffic_s = sum(told.seconds for told in self._traffic.values())
        watched_s = watch.last_s - watch.first_s - watch.unwatched_s
        seconds = max(0.0, watched_s - traffic_s)
        return (lanes or 16.0) * (gts or 16.0) * 1e9 * seconds


def _summed(sums: Iterable[TrafficSummed]) -> dict[str, int]:
    found: dict[str, int] = {}
    for told in sums:
        for name, rise in told.errors.items():
            found[name] = found.get(name, 0) + rise
    return found


def _ways(errors: dict[str, int]) -> dict[str, int]:
    """The fewest events that explain what the counters told, by direction."""
    return {
        way: found.at_least
        for way, found in errors_by_direction(errors).items()
        if not isinstance(found, NotMeasured)
    }


def _no_sign_up_to(allowed: float) -> int:
    """The most errors that are no sign of more than `allowed` ones at 95 %."""
    count = 0
    while poisson_lower(count + 1, _CONFIDENCE) <= allowed:
        count += 1
    return count
