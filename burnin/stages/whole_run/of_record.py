"""The closing part over a record: the same watch and judge over the samples on disk."""

from __future__ import annotations

from collections.abc import Sequence

from burnin.core.events import RunStarted
from burnin.core.evidence.seen import Seen
from burnin.core.reading import Reading, of_stage
from burnin.core.verdict import WHOLE_RUN, Ended
from burnin.record.reader import Record
from burnin.stages.whole_run.closing_readings import closing_readings
from burnin.stages.whole_run.observed import Observed

_ROUNDED_S = 0.001
"""To which the journal's moments are rounded."""


def observed_on(record: Record) -> Observed:
    """What a record's samples, link notes and sums of traffic tell."""
    observed = Observed()
    for row in record.run.stages:
        observed.stage(row.stage, row.kind, row.own_title)
    starts = [e.elapsed_s for e in record.events(RunStarted.__name__)]
    for sample in record.samples():
        while starts and sample.elapsed_s >= starts[0] - _ROUNDED_S:
            starts.pop(0)
            observed.watch.gone_on()
        observed.sample(sample)
    for entry in record.events("Noted"):
        note = entry.note()
        if note is not None:
            observed.note(note)
    for entry in record.journal:
        counters = entry.counters()
        if counters is not None:
            observed.counters(counters)
        elif entry.event == RunStarted.__name__:
            observed.errors.gone_on()
    for sums in record.traffic.values():
        observed.traffic(sums)
    return observed


def seen_on(
    record: Record, readings: Sequence[Reading], observed: Observed | None = None
) -> Seen:
    """What tells the card from the bench on a record."""
    return (observed or observed_on(record)).seen(record.run.bench_shown, readings)


def closing_readings_of(record: Record, observed: Observed | None = None) -> tuple[Reading, ...]:
    """The closing part's readings of a record's samples; none where it has none."""
    found = observed or observed_on(record)
    if not found.watch.samples_count:
        return ()
    ended_at_s = None
    if record.run.ended in (Ended.TRIPPED, Ended.FAILED):
        trips = [entry.elapsed_s for entry in record.events("GuardTripped")]
        ended_at_s = trips[-1] if trips else found.watch.last_s
    return tuple(
        of_stage(reading, WHOLE_RUN)
        for reading in closing_readings(found.watch, found.titles, ended_at_s)
    )
