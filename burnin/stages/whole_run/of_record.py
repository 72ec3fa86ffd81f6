"""The closing part over a record: the same watch and judge over the samples on disk."""

from __future__ import annotations

from collections.abc import Sequence

from burnin.core.reading import Reading, of_stage
from burnin.core.sights import Seen
from burnin.core.verdict import WHOLE_RUN, Ended
from burnin.record.reader import Record
from burnin.stages.whole_run.closing_readings import closing_readings
from burnin.stages.whole_run.observed import Observed


def observed_on(record: Record) -> Observed:
    """What a record's samples, link notes and sums of traffic tell."""
    observed = Observed()
    for row in record.run.stages:
        observed.stage(row.stage, row.kind, row.own_title)
    for sample in record.samples():
        observed.sample(sample)
    for entry in record.events("Noted"):
        note = entry.note()
        if note is not None:
            observed.note(note)
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
