"""The log of starts: each proven by the kernel's boot id and uptime, the link judged at each.

It is one line a step in ``cold_starts.jsonl``, on disk before the next step, so that it outlives
power-off. A start that was begun and never judged ended in a crash or hang, and counts as one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from burnin.core.clock import iso, moment_of
from burnin.core.meaning import Reason
from burnin.core.plain import finite
from burnin.core.reading import Verdict
from burnin.record.event_log import Log, LogEvent, append, read_log
from burnin.record.reasons import RecordReason
from burnin.stages.boot import Boot
from burnin.stages.cold_starts.meanings import ColdStartReason

FILE = "cold_starts.jsonl"


@dataclass(frozen=True)
class Start:
    """One start of the bench: `off_s` without power before it (None: nobody can say).

    `judged` is the verdict on its link, None where it was never judged (crash or hang). `cold`
    says whether it counts; `why_not` says why it does not.
    """

    boot_id: str
    began_utc: str
    off_s: float | None
    cold: bool
    why_not: Reason | None
    reseated: bool
    judged: Verdict | None = None
    reasons: tuple[Reason, ...] = ()


@dataclass(frozen=True)
class StartsSoFar:
    """All starts, the newest last."""

    starts: tuple[Start, ...]

    @property
    def counted(self) -> tuple[Start, ...]:
        """Cold starts that were judged, passed or failed."""
        return tuple(s for s in self.starts if s.cold and s.judged in (Verdict.PASS, Verdict.FAIL))

    @property
    def failed(self) -> tuple[Start, ...]:
        """Starts, cold or not, at which the link failed."""
        return tuple(s for s in self.starts if s.judged is Verdict.FAIL)

    @property
    def hung(self) -> tuple[Start, ...]:
        """Starts before the newest that were begun and never judged."""
        return tuple(s for s in self.starts[:-1] if s.judged is None)

    @property
    def reseats(self) -> int:
        """Judged cold starts before which the card was taken out and put back."""
        return sum(s.reseated for s in self.counted)


def begin(
    path: Path, boot: Boot, now: datetime, *, off_at_least_s: float, reseated: bool = False
) -> None:
    """Note that this boot's start is about to be judged; a boot is noted once only.

    The first start is never cold: nobody saw the bench go off. Two boots within `off_at_least_s`
    are a warm start. Raises RecordError for a log that was changed.
    """

    def decide(log: Log) -> list[LogEvent]:
        if any(e.kind == "begun" and e.fields.get("boot_id") == boot.boot_id for e in log.events):
            return []
        booted = now - timedelta(seconds=boot.uptime_s)
        seen = _moment(log.events[-1].time_utc) if log.events else None
        off_s = None if seen is None else max(0.0, (booted - seen).total_seconds())
        why_not: Reason | None = None
        if off_s is None:
            why_not = ColdStartReason.FIRST_START()
        elif off_s < off_at_least_s:
            why_not = ColdStartReason.OFF_TOO_SHORT(off_s=off_s, needed_s=off_at_least_s)
        fields = {
            "boot_id": boot.boot_id,
            "uptime_s": boot.uptime_s,
            "off_s": off_s,
            "cold": why_not is None,
            "why_not": None if why_not is None else why_not.as_plain(),
            "reseated": reseated,
        }
        return [LogEvent(iso(now), "begun", "", fields)]

    append(path, decide)


def alive(path: Path, boot: Boot, now: datetime) -> None:
    """Note that the bench is up now, so that the time without power can be told afterwards."""
    event = LogEvent(iso(now), "alive", "", {"boot_id": boot.boot_id})
    append(path, lambda log: [event] if log.events else [])


def judged(
    path: Path, boot: Boot, verdict: Verdict, reasons: tuple[Reason, ...], now: datetime
) -> None:
    """Note how the link stood at this boot's start: pass, fail or not measured."""
    fields = {
        "boot_id": boot.boot_id,
        "verdict": str(verdict),
        "reasons": [reason.as_plain() for reason in reasons],
    }
    append(path, lambda _: [LogEvent(iso(now), "judged", "", fields)])


def so_far(path: Path, since_utc: str = "") -> StartsSoFar:
    """All starts of a log that began at `since_utc` or later; none where there is no file.

    Raises RecordError for a log that was changed.
    """
    if not path.exists():
        return StartsSoFar(())
    found: dict[str, Start] = {}
    for event in read_log(path).events:
        boot_id = str(event.fields.get("boot_id", ""))
        if event.kind == "begun":
            off_s = event.fields.get("off_s")
            found[boot_id] = Start(
                boot_id,
                event.time_utc,
                finite(off_s),
                bool(event.fields.get("cold")),
                _reason(event.fields.get("why_not")),
                bool(event.fields.get("reseated")),
            )
        elif event.kind == "judged" and boot_id in found:
            found[boot_id] = _with_verdict(found[boot_id], event.fields)
    return StartsSoFar(tuple(s for s in found.values() if s.began_utc >= since_utc))


def _with_verdict(start: Start, fields: Mapping[str, object]) -> Start:
    try:
        verdict = Verdict(str(fields.get("verdict", "")))
    except ValueError:
        return start
    # What has failed once stays failed; a second look that saw nothing takes no pass away.
    passed = start.judged is Verdict.PASS
    if start.judged is Verdict.FAIL or (passed and verdict is Verdict.NOT_MEASURED):
        return start
    told = fields.get("reasons")
    listed = told if isinstance(told, list) else [fields.get("reason")]
    reasons = tuple(found for item in listed if (found := _reason(item)) is not None)
    return replace(start, judged=verdict, reasons=reasons)


def _reason(told: object) -> Reason | None:
    """A reason of the log; older logs hold a sentence in its place."""
    if isinstance(told, dict):
        try:
            return Reason.from_plain(told)
        except (ValueError, RecursionError):
            return None  # no code: nothing that can be worded
    return RecordReason.WORDS_OF_FORMAT_1(words=told) if isinstance(told, str) and told else None


def _moment(text: str) -> datetime:
    """A moment of the log; the earliest there is where it is none."""
    return moment_of(text) or datetime.min.replace(tzinfo=UTC)


def what_next(
    starts: StartsSoFar, wanted: int, reseats: int, off_at_least_s: float, command: str
) -> Reason | None:
    """What the technician does now; None where nothing is left."""
    left, seats = wanted - len(starts.counted), reseats - starts.reseats
    if left <= 0 and seats <= 0:
        return None
    number = len(starts.counted) + 1
    do = ColdStartReason.NEXT_RESEATED if seats > 0 else ColdStartReason.NEXT
    return do(
        number=number, of_count=max(wanted, number), wait_s=off_at_least_s, command=command
    )
