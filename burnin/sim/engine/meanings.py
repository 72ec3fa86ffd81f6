"""What only the simulated engine has to say; all else has the codes of `burnin.engine.meanings`."""

from __future__ import annotations

from burnin.core.meaning import NoteCode, ReasonCode


class SimReason(ReasonCode):
    """What a simulated card cannot be asked: its faults are causes of its scenario."""

    DISTURBS_NO_WORDS = "sim_disturbs_no_words"
    DISTURBS_NO_RESULTS = "sim_disturbs_no_results"
    RECORDING_DOES_NO_WORK = "sim_recording_does_no_work"


class SimNote(NoteCode):
    """Why this engine, and what a job is about to do."""

    MACHINE_IS_SIMULATED = "sim_machine_is_simulated"
    PLAN_LOAD = "sim_plan_load", "share"
    PLAN_COMPUTE = "sim_plan_compute", "results_count", "seconds"
    PLAN_TRAFFIC = "sim_plan_traffic", "direction", "seconds"
    PLAN_ALL_AT_ONCE = "sim_plan_all_at_once", "mib", "seconds"
    PLAN_MEMORY = "sim_plan_memory", "mib", "patterns", "passes"
