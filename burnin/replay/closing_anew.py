"""The closing part of a record made anew from its samples: a breach counts whoever wrote a pass."""

from __future__ import annotations

from collections.abc import Sequence

from burnin.core.meaning import Reason
from burnin.core.reading import Reading, Verdict
from burnin.core.verdict import WHOLE_RUN, RunVerdict, StageOutcome, stage_verdict
from burnin.record.reader import Record
from burnin.replay.reasons import Disagreement
from burnin.stages.whole_run.observed import Observed
from burnin.stages.whole_run.of_record import closing_readings_of

_BROKEN = (Verdict.FAIL, Verdict.UNSURE)


class ClosingAnew:
    """What the samples of a record say of its whole run, by name of reading."""

    def __init__(self, record: Record, observed: Observed) -> None:
        self._made = {r.name: r for r in closing_readings_of(record, observed)}
        self._kept = any(row.kind == WHOLE_RUN for row in record.run.stages)
        self._closed = record.run.verdict is not RunVerdict.INCOMPLETE

    def reading(self, reading: Reading) -> Reading:
        """A reading as the samples have it; one that no sample tells stays as it is."""
        made = self._made.get(reading.name) if reading.stage == WHOLE_RUN else None
        return reading if made is None or made.verdict is reading.verdict else made

    def added(self) -> StageOutcome | None:
        """The closing part of a record that has none, where a sample breaks what was shown."""
        if self._kept or not self._closed or not self.added_readings():
            return None
        verdict, reasons = stage_verdict(self.added_readings())
        return StageOutcome(WHOLE_RUN, WHOLE_RUN, "", verdict, reasons)

    def added_readings(self) -> tuple[Reading, ...]:
        """Its readings that broke; none where the record has a closing part."""
        if self._kept or not self._closed:
            return ()
        return tuple(r for r in self._made.values() if r.verdict in _BROKEN)

    def disagreements(self, readings: Sequence[Reading]) -> tuple[Reason, ...]:
        """Readings of the closing part that the samples contradict."""
        return tuple(
            Disagreement.READING(
                stage=r.stage,
                reading=r.name,
                told=str(r.verdict),
                follows=str(self.reading(r).verdict),
            )
            for r in readings
            if self.reading(r) is not r
        )
