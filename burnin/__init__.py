"""Proves at the bench that a repaired graphics card works, and prints the sheet that says so.

What a program may use is listed in `__all__` and told in DEVELOPERS.md, "As a library"; all else
may change. Everything is loaded when it is first asked for, so that importing this costs nothing.
"""

TYPE_CHECKING = False
if TYPE_CHECKING:
    from burnin.core.errors import (
        BadInput,
        BurninError,
        DeviceLost,
        DiskBroken,
        DiskFull,
        DiskReadOnly,
        EngineError,
        EngineUnavailable,
        HeldByAnotherRun,
        NobodyReads,
        NoCard,
        NotFound,
        NotPermitted,
        ProfileError,
        ReasonedError,
        RecordError,
        RefusedBySystem,
        ScenarioError,
        StoppedByHand,
        TooManyFiles,
        WorkerEnded,
        WorkerSilent,
    )
    from burnin.core.events import Event
    from burnin.core.meaning import Meaning, Prompt, Reason
    from burnin.core.reading import NotMeasured, Reading, Verdict
    from burnin.core.sample import Sample
    from burnin.core.ticket_header import Ticket
    from burnin.core.verdict import RunVerdict, StageVerdict
    from burnin.guard.sampler import LoadStopped
    from burnin.profile.loader import LoadedProfile, load_profile, profile_names
    from burnin.record.reader import Record, read_record
    from burnin.record.sinks import Sink
    from burnin.replay.judging import Ends, Stops, judge_samples
    from burnin.replay.verdicts import JudgedAnew, judge_anew
    from burnin.report.languages.catalogue import catalogue
    from burnin.report.make import make_sheet
    from burnin.run.bench import Options
    from burnin.run.plan import RunOutcome
    from burnin.run.session import run_profile
    from burnin.stages.context import Prompter

__version__ = "0.1.0"

__all__ = [
    "BadInput",
    "BurninError",
    "DeviceLost",
    "DiskBroken",
    "DiskFull",
    "DiskReadOnly",
    "Ends",
    "EngineError",
    "EngineUnavailable",
    "Event",
    "HeldByAnotherRun",
    "JudgedAnew",
    "LoadStopped",
    "LoadedProfile",
    "Meaning",
    "NoCard",
    "NobodyReads",
    "NotFound",
    "NotMeasured",
    "NotPermitted",
    "Options",
    "ProfileError",
    "Prompt",
    "Prompter",
    "Reading",
    "Reason",
    "ReasonedError",
    "Record",
    "RecordError",
    "RefusedBySystem",
    "RunOutcome",
    "RunVerdict",
    "Sample",
    "ScenarioError",
    "Sink",
    "StageVerdict",
    "StoppedByHand",
    "Stops",
    "Ticket",
    "TooManyFiles",
    "Verdict",
    "WorkerEnded",
    "WorkerSilent",
    "catalogue",
    "judge_anew",
    "judge_samples",
    "load_profile",
    "make_sheet",
    "profile_names",
    "read_record",
    "run_profile",
]

_HOMES = {
    "burnin.core.events": ("Event",),
    "burnin.core.meaning": ("Meaning", "Prompt", "Reason"),
    "burnin.core.reading": ("NotMeasured", "Reading", "Verdict"),
    "burnin.core.sample": ("Sample",),
    "burnin.core.ticket_header": ("Ticket",),
    "burnin.core.verdict": ("RunVerdict", "StageVerdict"),
    "burnin.guard.sampler": ("LoadStopped",),
    "burnin.profile.loader": ("LoadedProfile", "load_profile", "profile_names"),
    "burnin.record.reader": ("Record", "read_record"),
    "burnin.record.sinks": ("Sink",),
    "burnin.replay.judging": ("Ends", "Stops", "judge_samples"),
    "burnin.replay.verdicts": ("JudgedAnew", "judge_anew"),
    "burnin.report.languages.catalogue": ("catalogue",),
    "burnin.report.make": ("make_sheet",),
    "burnin.run.bench": ("Options",),
    "burnin.run.plan": ("RunOutcome",),
    "burnin.run.session": ("run_profile",),
    "burnin.stages.context": ("Prompter",),
}
"""Where each name of the face is at home; those not named here are errors of the tree."""


def __getattr__(name: str) -> object:
    """A name of the face, loaded now (PEP 562); raises AttributeError for any other."""
    if name not in __all__:
        raise AttributeError(f"module 'burnin' has no attribute {name!r}")
    from importlib import import_module

    homes = (home for home, names in _HOMES.items() if name in names)
    found: object = getattr(import_module(next(homes, "burnin.core.errors")), name)
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    """The names of the face beside what is there already."""
    return sorted({*globals(), *__all__})
