"""Cold starts: each proven by the kernel's boot id and uptime, the link judged at each.

The state is one line a step in ``cold_starts.jsonl``, on disk before the next step, so that it
outlives power-off. A start that was begun and never judged ended in a crash or hang, and counts as
one.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path

from burnin.card.attributes import Attributes
from burnin.card.files import BenchFiles
from burnin.core.clock import iso
from burnin.core.reading import NotMeasured
from burnin.record.event_log import Log, LogEvent, append, read_log
from burnin.ticket.dates import moment_of

FILE = "cold_starts.jsonl"


@dataclass(frozen=True)
class Boot:
    """Which boot of the kernel this is, and for how long it has run."""

    boot_id: str
    uptime_s: float


NOBODY_ASKED = NotMeasured("nobody asked which boot of the bench this is")
"""In the place of a boot where none was read."""


def read_boot(files: BenchFiles) -> Boot | NotMeasured:
    """Boot id and uptime of the bench (Linux Documentation/admin-guide/sysctl/kernel.rst, proc)."""
    root = Attributes(files, "")
    boot_id, uptime = root.text("proc/sys/kernel/random/boot_id"), root.text("proc/uptime")
    if isinstance(boot_id, NotMeasured):
        return boot_id
    if isinstance(uptime, NotMeasured):
        return uptime
    try:
        return Boot(boot_id, float(uptime.split()[0]))
    except (ValueError, IndexError):
        return NotMeasured(f"proc/uptime holds no number: {uptime[:40]!r}")


@dataclass(frozen=True)
class Start:
    """One start of the bench: `off_s` without power before it (None: nobody can say).

    `judged` is pass, fail, not measured, or empty where it was never judged (crash or hang).
    `cold` says whether it counts; `why_not` says why it does not.
    """

    boot_id: str
    began_utc: str
    off_s: float | None
    cold: bool
    why_not: str
    reseated: bool
    judged: str
    reason: str


@dataclass(frozen=True)
class StartsSoFar:
    """All starts, the newest last."""

    starts: tuple[Start, ...]

    @property
    def counted(self) -> tuple[Start, ...]:
        """Cold starts that were judged, passed or failed."""
        return tuple(s for s in self.starts if s.cold and s.judged in ("pass", "fail"))

    @property
    def failed(self) -> tuple[Start, ...]:
        """Starts, cold or not, at which the link failed."""
        return tuple(s for s in self.starts if s.judged == "fail")

    @property
    def hung(self) -> tuple[Start, ...]:
        """Starts before the newest that were begun and never judged."""
        return tuple(s for s in self.starts[:-1] if not s.judged)

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
        seen = moment_of(log.events[-1].time_utc) if log.events else None
        off_s = None if seen is None else max(0.0, (booted - seen).total_seconds())
        why_not = ""
        if off_s is None:
            why_not = "the first start: nobody saw the bench go off before it"
        elif off_s < off_at_least_s:
            why_not = f"off for {off_s:.0f} s, at least {off_at_least_s:.0f} s make a cold start"
        fields = {
            "boot_id": boot.boot_id,
            "uptime_s": boot.uptime_s,
            "off_s": off_s,
            "cold": not why_not,
            "why_not": why_not,
            "reseated": reseated,
        }
        return [LogEvent(iso(now), "begun", "", fields)]

    append(path, decide)


def alive(path: Path, boot: Boot, now: datetime) -> None:
    """Note that the bench is up now, so that the time without power can be told afterwards."""
    event = LogEvent(iso(now), "alive", "", {"boot_id": boot.boot_id})
    append(path, lambda log: [event] if log.events else [])


def judged(path: Path, boot: Boot, verdict: str, reason: str, now: datetime) -> None:
    """Note how the link stood at this boot's start: pass, fail or not measured."""
    fields = {"boot_id": boot.boot_id, "verdict": verdict, "reason": reason}
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
                float(off_s) if isinstance(off_s, int | float) else None,
                bool(event.fields.get("cold")),
                str(event.fields.get("why_not", "")),
                bool(event.fields.get("reseated")),
                "",
                "",
            )
        elif event.kind == "judged" and boot_id in found:
            found[boot_id] = _with_verdict(found[boot_id], event)
    return StartsSoFar(tuple(s for s in found.values() if s.began_utc >= since_utc))


def _with_verdict(start: Start, event: LogEvent) -> Start:
    verdict, reason = str(event.fields.get("verdict", "")), str(event.fields.get("reason", ""))
    # What has failed once stays failed; a second look that saw nothing takes no pass away.
    if start.judged == "fail" or (start.judged == "pass" and verdict == "not measured"):
        return start
    return replace(start, judged=verdict, reason=reason)


def what_next(
    starts: StartsSoFar, wanted: int, reseats: int, off_at_least_s: float, command: str
) -> str:
    """What the technician does now, in one sentence; empty where nothing is left."""
    left, seats = wanted - len(starts.counted), reseats - starts.reseats
    if left <= 0 and seats <= 0:
        return ""
    seat = " take the card out and seat it again," if seats > 0 else ""
    number = len(starts.counted) + 1
    return (
        f"cold start {number} of {max(wanted, number)}: shut down, unplug,{seat} wait"
        f" {off_at_least_s:.0f} s, plug in, start, and type: {command}"
    )
