"""A run passes only if every stage of it has passed and nothing is owed."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from burnin.core.events import OwedWork
from burnin.core.reading import Limit, NotMeasured, Reading, judge
from burnin.core.verdict import EXIT_CODES, StageOutcome, owed_of_stage, run_verdict, stage_verdict

GOOD = judge("a", 1.0, "", Limit(upper=2.0))
BAD = judge("b", 3.0, "", Limit(upper=2.0))
UNSURE = judge("c", 2.0, "", Limit(upper=2.0), uncertainty=0.5)
MISSING = judge("d", NotMeasured("no sensor"), "", Limit(upper=2.0))
SPARE = judge("e", NotMeasured("no sensor"), "", None, required=False)
NOTED = judge("f", 1.0, "", None)

readings = st.lists(st.sampled_from([GOOD, BAD, UNSURE, MISSING, SPARE, NOTED]), max_size=6)


@given(readings)
def test_a_stage_passes_only_on_passed_readings(taken: list[Reading]) -> None:
    verdict, reason = stage_verdict(taken)
    clean = GOOD in taken and not {BAD, UNSURE, MISSING} & set(taken)
    assert (verdict == "pass") == clean
    assert (verdict == "fail") == (BAD in taken)
    assert reason or verdict == "pass"


def outcome(verdict: str, reason: str = "why") -> StageOutcome:
    return StageOutcome("1-memory", "memory", "Memory", verdict, reason)


verdicts = st.lists(
    st.sampled_from(["pass", "fail", "aborted", "conditional", "not measured"]), max_size=6
)


@given(verdicts, st.booleans(), st.sampled_from(["done", "failed", "stopped by hand", "tripped"]))
def test_a_run_passes_only_when_all_is_done_and_passed(
    stages: list[str], something_owed: bool, ended: str
) -> None:
    owed = [OwedWork("", "soak", "no loop")] if something_owed else []
    verdict, reason = run_verdict([outcome(v) for v in stages], owed, ended, "because")
    clean = bool(stages) and set(stages) == {"pass"} and not owed
    assert (verdict == "pass") == (clean and ended in ("done", "failed"))
    assert verdict in EXIT_CODES
    assert reason


def test_open_readings_are_owed_by_name() -> None:
    owed = owed_of_stage(outcome("conditional"), [GOOD, MISSING, SPARE])
    assert [(o.what, o.reason) for o in owed] == [("Memory: d", "no sensor")]


def test_a_stage_not_carried_out_is_owed_as_a_whole() -> None:
    owed = owed_of_stage(outcome("not measured", "left out by hand"), [])
    assert [(o.what, o.reason) for o in owed] == [("Memory", "left out by hand")]
