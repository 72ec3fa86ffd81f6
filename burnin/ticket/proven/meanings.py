"""Where a reading is from that another run of the ticket took."""

from __future__ import annotations

from burnin.core.meaning import SourceCode


class ProvenSource(SourceCode):
    """`run` is a run's name, `source` the source on that run's record, if it had one."""

    FROM_RUN = "proven_from_run", "run", "source"
    FROM_RUN_ALONE = "proven_from_run_alone", "run"
