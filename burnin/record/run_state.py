"""What run.json says of a run's course, made from the lines of its journal and from nothing else.

The writer makes run.json with it, the reader sees with it whether run.json still says the same.
Only the newest line of the journal may be missing in run.json: it is written first.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from burnin.core.meaning import Reason
from burnin.core.verdict import StageVerdict
from burnin.record.chain import HEADS
from burnin.record.journal import JournalEntry
from burnin.record.reasons import RecordReason
from burnin.record.sums import RUN_FILE

OPENING = "opening_sha256"
"""Key of the detail of `RunStarted`: SHA-256 of all that run.json says but of the run's course."""
_ENDED = "ended_utc"
_COURSE = ("stages", "verdict", "reason", "ended", "owed", _ENDED)
_TO_SAY_WHEN = "time_utc"
_BEGINS = "RunStarted"
CHANGING = (_BEGINS, "StageStarted", "StageFinished", "RunFinished")
"""Events with which run.json is written anew."""
_MOST_NAMED = 5


@dataclass
class RunState:
    """A run's course so far: `stages` and `end` as they stand in run.json."""

    run_id: object = None
    opening: str = ""
    stages: list[dict[str, object]] = field(default_factory=list)
    end: dict[str, object] = field(default_factory=dict)

    def apply(self, event: str, elapsed_s: float, detail: Mapping[str, object]) -> bool:
        """Take in one line of the journal; whether run.json says something else then."""
        if event == "RunStarted":
            if detail.get("run_id") != self.run_id:  # another run began in this folder
                self.stages = []
            self.run_id = detail.get("run_id")
            self.opening, self.end = str(detail.get(OPENING, "")), {}
        elif event == "StageStarted":
            self.stages = [s for s in self.stages if s["stage"] != detail.get("stage")]
            self.stages.append(
                {
                    "stage": detail.get("stage"),
                    "kind": detail.get("kind"),
                    "own_title": detail.get("own_title"),
                    "verdict": StageVerdict.INCOMPLETE.value,
                    "reasons": [],
                    "started_s": elapsed_s,
                    "ended_s": None,
                    "taken_over": detail.get("taken_over"),
                }
            )
        elif event == "StageFinished":
            for stage in self.stages:
                if stage["stage"] == detail.get("stage"):
                    stage.update(
                        verdict=detail.get("verdict"),
                        reasons=detail.get("reasons"),
                        ended_s=elapsed_s,
                    )
        elif event == "RunFinished":
            told = {k: v for k, v in detail.items() if k not in (HEADS, _TO_SAY_WHEN)}
            self.end = {**told, _ENDED: detail.get(_TO_SAY_WHEN)}
        else:
            return False
        return True


def state_after(journal: Iterable[JournalEntry]) -> RunState:
    """The course that a journal tells."""
    state = RunState()
    for entry in journal:
        state.apply(entry.event, entry.elapsed_s, entry.detail)
    return state


def opening_sha256(run: Mapping[str, object]) -> str:
    """SHA-256 of all that run.json says but of the run's course, whatever the order of its keys."""
    kept = {name: value for name, value in run.items() if name not in _COURSE}
    text = json.dumps(kept, ensure_ascii=False, sort_keys=True)
    return hashlib.sha256(text.encode("utf-8", "replace")).hexdigest()


def disagreements(
    run: Mapping[str, object], journal: tuple[JournalEntry, ...], *, torn: bool = False
) -> tuple[Reason, ...]:
    """Where run.json (as JSON) does not say what the journal tells; nothing where it does.

    A run.json that the journal has left behind says what an earlier line told: the power went
    between the two, or the run goes on while it is read. That of a closed run is one line behind
    at most. Where the journal tells of no start yet, run.json is all that there was when the power
    went, and says nothing of a course. Where the end of the journal is `torn`, run.json may know of
    a stage what the torn line told; nobody takes it from there.
    """
    if not any(entry.event == _BEGINS for entry in journal):
        return _of_unbegun(run)
    state, agreed_at = RunState(), -1
    for place, entry in enumerate(journal):
        if state.apply(entry.event, entry.elapsed_s, entry.detail) and not _differences(run, state):
            agreed_at = place
    now = _differences(run, state)
    behind_by_one = agreed_at >= 0 and not any(
        entry.event in CHANGING for entry in journal[agreed_at + 1 : -1]
    )
    if now and (behind_by_one or (agreed_at >= 0 and not run.get("ended"))):
        return ()
    if torn and not run.get("ended"):
        return tuple(flaw for flaw in now if not flaw.means(RecordReason.STAGES_DISAGREE))
    return now


def _of_unbegun(run: Mapping[str, object]) -> tuple[Reason, ...]:
    """What run.json says of a course, though its journal has none."""
    told = {"stages": [], **_OPEN}
    keys = tuple(key for key, value in told.items() if run.get(key) != value)
    return (RecordReason.END_DISAGREES(file=RUN_FILE, keys=keys),) if keys else ()


def _differences(run: Mapping[str, object], state: RunState) -> tuple[Reason, ...]:
    found: list[Reason] = []
    if opening_sha256(run) != state.opening:
        found.append(RecordReason.OPENING_DISAGREES(file=RUN_FILE))
    told = run.get("stages")
    if told != state.stages:
        by_name = {str(stage["stage"]): stage for stage in state.stages}
        rows = [row for row in told if isinstance(row, dict)] if isinstance(told, list) else []
        of_file = {str(row.get("stage")): row for row in rows}
        names = [n for n in {**by_name, **of_file} if by_name.get(n) != of_file.get(n)]
        found.append(
            RecordReason.STAGES_DISAGREE(file=RUN_FILE, stages=tuple(names[:_MOST_NAMED]))
        )
    end = state.end or _OPEN
    keys = tuple(key for key, value in end.items() if run.get(key) != value)
    if keys:
        found.append(RecordReason.END_DISAGREES(file=RUN_FILE, keys=keys))
    return tuple(found)


_OPEN: Mapping[str, object] = {"verdict": "incomplete", "ended": "", _ENDED: "", "owed": []}
"""What run.json says of its end until the run is closed."""
