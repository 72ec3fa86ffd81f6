"""What a run opens with: the slot of its card, and what that slot has shown within the age."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from burnin.core.clock import moment_of
from burnin.core.errors import RecordError
from burnin.core.meaning import Reason
from burnin.core.proven_bench import BenchShown, NotProven, ProvenBench, ProvenOutput, Slot
from burnin.record.event_log import Log
from burnin.run.proven.bench_log import Declared, declared, forgotten_utc, read, starts
from burnin.run.proven.meanings import ProvenReason

_DAY_S = 86400.0
_CLOCK_MAY_LAG_DAYS = 0.01


@dataclass(frozen=True)
class ProofAge:
    """How long a proof counts: days since its run, starts of the bench seen since."""

    days: float = 30.0
    starts: int = 50


USUAL_AGE = ProofAge()


def bench_shown(
    results: Path, slot: Slot, now: datetime, boot_id: str | None, age: ProofAge
) -> BenchShown:
    """What a slot has shown; `boot_id` is that of the present boot, None where nobody can tell."""
    if not slot.port:
        return NotProven(ProvenReason.PORT_UNKNOWN(), slot)
    if not slot.bench:
        return NotProven(ProvenReason.BENCH_UNKNOWN(), slot)
    try:
        log = read(results, slot)
        return _of_log(log, slot, now, boot_id, age)
    except RecordError as error:
        return NotProven(ProvenReason.LOG_UNREADABLE(words=str(error)), slot)


def _of_log(
    log: Log | None, slot: Slot, now: datetime, boot_id: str | None, age: ProofAge
) -> BenchShown:
    found = () if log is None else declared(log)
    if log is None or not found:
        gone_utc = forgotten_utc(log) if log is not None else ""
        why = (
            ProvenReason.FORGOTTEN(port=slot.port, forgotten_utc=gone_utc)
            if gone_utc
            else ProvenReason.NEVER(port=slot.port)
        )
        return NotProven(why, slot)
    ages = [_Aged.of(one, log, now, boot_id) for one in found]
    fresh = [aged for aged in ages if aged.stale(slot, age) is None]
    if not fresh:
        why_not = ages[-1].stale(slot, age)
        assert why_not is not None
        return NotProven(why_not, slot)
    return _together(fresh, slot, age)


@dataclass(frozen=True)
class _Aged:
    one: Declared
    days: float
    starts: int

    @classmethod
    def of(cls, one: Declared, log: Log, now: datetime, boot_id: str | None) -> _Aged:
        """Its age; the boot in which it ran is none since, the present one is also if unnoted."""
        since = {*starts(log, one.declared_utc)}
        if boot_id is not None and boot_id not in starts(log, ""):
            since.add(boot_id)
        since.discard(one.proof.boot_id)
        return cls(one, _days_since(one.proof.started_utc, now), len(since))

    def stale(self, slot: Slot, age: ProofAge) -> Reason | None:
        """Why it counts no more, None where it does."""
        if self.days < -_CLOCK_MAY_LAG_DAYS:
            return ProvenReason.IN_THE_FUTURE(
                port=slot.port, proven_utc=self.one.proof.started_utc
            )
        if self.days > age.days:
            return ProvenReason.TOO_OLD(
                port=slot.port, age_days=self.days, days_count=age.days
            )
        if self.starts > age.starts:
            return ProvenReason.TOO_MANY_STARTS(
                port=slot.port, starts_since=self.starts, starts_count=age.starts
            )
        return None


def _together(fresh: list[_Aged], slot: Slot, age: ProofAge) -> ProvenBench:
    """All proofs that count, as one; a newer limit takes back what an older proof reached."""
    newest = fresh[-1]
    proofs = [aged.one.proof for aged in fresh]
    last = newest.one.proof
    width = last.width_limit_lanes or max(p.width_lanes for p in proofs)
    speed = last.speed_limit_gts or max(p.speed_gts for p in proofs)
    outputs: dict[str, ProvenOutput] = {o.output: o for p in proofs for o in p.outputs}
    return ProvenBench(
        slot=slot,
        by=newest.one.by,
        proven_utc=last.started_utc,
        card=last.card,
        runs=tuple(p.run_id for p in proofs),
        width_lanes=width,
        speed_gts=speed,
        width_limit_lanes=last.width_limit_lanes,
        speed_limit_gts=last.speed_limit_gts,
        error_rate_bound=_best(min, (p.error_rate_bound for p in proofs)),
        to_card_gbs=_best(max, (p.to_card_gbs for p in proofs)),
        to_host_gbs=_best(max, (p.to_host_gbs for p in proofs)),
        ambient_c=last.ambient_c,
        supply_w=_best(max, (p.supply_w for p in proofs)),
        cooled_w=_best(max, (p.cooled_w for p in proofs)),
        rails=last.rails,
        outputs=tuple(outputs.values()),
        age_days=max(0.0, newest.days),
        starts_since=newest.starts,
        days_count=age.days,
        starts_count=age.starts,
    )


def _best(
    pick: Callable[[list[float]], float], values: Iterable[float | None]
) -> float | None:
    told = [value for value in values if value is not None]
    return pick(told) if told else None


def _days_since(moment_utc: str, now: datetime) -> float:
    """Days since a moment; far in the future where it is none."""
    then = moment_of(moment_utc)
    return -1e6 if then is None else (now - then).total_seconds() / _DAY_S
