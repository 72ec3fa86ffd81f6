"""Files of a record that speak of another run: its id, or stages that this one never had."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from burnin.core.events import RunStarted
from burnin.core.meaning import Reason
from burnin.record.journal import JournalEntry
from burnin.record.reasons import RecordReason
from burnin.record.schema.run import RunFile
from burnin.record.schema.tables import JOURNAL

_MOST_NAMED = 5


def of_another_run(
    run: RunFile,
    journal: Sequence[JournalEntry],
    planned: Sequence[str],
    stages_in: Mapping[str, Iterator[str]],
) -> tuple[Reason, ...]:
    """What is foreign; `planned` are the stages that the run set out to do, by the journal.

    `stages_in`: by file, the stage of each of its rows.
    """
    found: list[Reason] = []
    begun = (entry for entry in journal if entry.event == RunStarted.__name__)
    told = (entry.detail.get("run_id") for entry in begun)
    for run_id in dict.fromkeys(str(one) for one in told if one is not None):
        if run_id != run.run_id:
            found.append(RecordReason.OTHER_RUN(file=JOURNAL, run_id=run_id))
    known = {"", *planned, *(stage.stage for stage in run.stages)}
    if not planned:
        return tuple(found)
    for file, stages in stages_in.items():
        strange = tuple(dict.fromkeys(name for name in stages if name not in known))
        if strange:
            found.append(RecordReason.UNKNOWN_STAGE(file=file, stages=strange[:_MOST_NAMED]))
    return tuple(found)
