"""A whole run on the emulated bench, as a program makes it, in a process of its own."""

from __future__ import annotations

import os
import traceback
from collections.abc import Callable
from contextlib import nullcontext
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from unittest.mock import patch

from burnin.core.errors import BurninError
from burnin.core.events import Event, SampleTaken
from burnin.core.reading import NotMeasured, Reading
from burnin.engine.meanings import EngineReason
from burnin.profile.loader import load_profile
from burnin.record.reader import Record, read_record
from burnin.run import bench
from burnin.run.session import run_profile
from tests.kernel.guest.saying import say

PROFILES = Path(__file__).parents[1] / "profiles"
RESULTS = Path("/run/results")


class _When:
    """Does something once, at the first sample of a stage."""

    name = "when"

    def __init__(self, stage: str, act: Callable[[], object]) -> None:
        self._stage, self._act, self._done = stage, act, False

    def __call__(self, event: Event) -> None:
        if isinstance(event, SampleTaken) and not self._done and self._stage in event.sample.stage:
            self._done = True
            self._act()

    def close(self) -> None:
        """Nothing is held."""


def run(
    check: str,
    *,
    profile: str = "emulated",
    stage: str = "",
    act: Callable[[], object] = lambda: None,
    before: Callable[[], object] = lambda: None,
    only: str = "",
    engine: bool = False,
    results: Path = RESULTS,
    **told: object,
) -> None:
    """Carry out a profile; at the first sample of `stage` the bench is changed by `act`.

    `before` changes it before. `only`: the kind of stage that is carried out, all where empty.
    `engine`: look for one; that takes 12 s under emulation, and there is none to be found.
    """
    before()
    child = os.fork()
    if not child:
        code = 1
        try:
            with nullcontext() if engine else patch.object(bench, "_engine_for", _no_engine):
                ran = _ran(profile, only, _When(stage, act), results)
            say(check, **told, **ran)
            code = 0
        except BaseException:
            say("raised", step=check, traceback=traceback.format_exc())
        os._exit(code)
    os.waitpid(child, 0)


def _no_engine(*_: object) -> NotMeasured:
    return NotMeasured(EngineReason.NONE_AT_HAND())


def _ran(profile: str, only: str, when: _When, results: Path) -> dict[str, object]:
    loaded = load_profile(str(PROFILES / f"{profile}.toml"))
    if only:
        stages = [stage for stage in loaded.profile.stages if stage.stage == only]
        loaded = replace(loaded, profile=loaded.profile.model_copy(update={"stages": stages}))
    try:
        outcome = run_profile(loaded, results=results, sinks=[when])
    except BurninError as error:
        reason = getattr(error, "reason", None)
        return {"error": type(error).__name__, "reason": reason and reason.as_plain()}
    return as_told(read_record(outcome.folder))


def as_told(record: Record) -> dict[str, object]:
    """What a record holds, as plain values."""
    samples = list(record.samples())
    return {
        "verdict": record.run.verdict,
        "reason": record.run.reason and record.run.reason.as_plain(),
        "stages": [
            [s.kind, s.verdict, [r.as_plain() for r in s.reasons]] for s in record.run.stages
        ],
        "readings": {f"{r.stage} {r.name}": _reading(r) for r in record.readings},
        "owed": [[o.stage, o.what.as_plain(), o.reason.as_plain()] for o in record.run.owed],
        "samples": len(samples),
        "absent": sum(not s.present for s in samples),
        "late": sum(bool(s.flaws) for s in samples),
        "elapsed_s": [samples[0].elapsed_s, samples[-1].elapsed_s] if samples else [],
        "longest_gap_s": max(
            (b.elapsed_s - a.elapsed_s for a, b in pairwise(samples)),
            default=0.0,
        ),
    }


def _reading(reading: Reading) -> dict[str, object]:
    return {
        "value": reading.value,
        "verdict": reading.verdict,
        "required": reading.required,
        "reason": reading.reason and reading.reason.as_plain(),
    }
