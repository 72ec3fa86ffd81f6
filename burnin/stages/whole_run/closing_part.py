"""All readings of the closing part, out of what was observed."""

from __future__ import annotations

from burnin.core.reading import Reading
from burnin.stages.whole_run.closing_readings import closing_readings
from burnin.stages.whole_run.observed import Observed


def closing_part(observed: Observed, ended_at_s: float | None) -> tuple[Reading, ...]:
    """Readings of the samples, and of the error counters where anybody looked at them.

    `ended_at_s`: when a guard or a lost card ended the load; None where nothing did.
    """
    watch = observed.watch
    of_samples = (
        closing_readings(watch, observed.titles, ended_at_s)
        if watch.samples_count
        else ()
    )
    return (*of_samples, *observed.errors.readings(watch))
