"""Every case of hands at a working card holds, or is known to be broken today."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.others.together.bench import broken, carry_out
from tests.others.together.case import Case, cases, params

LIST = Path(__file__).parent / "cases.toml"


@pytest.mark.parametrize("case", params(LIST))
def test_the_demand_holds(case: Case, tmp_path: Path) -> None:
    outcome = carry_out(case, tmp_path)
    found = list(broken(case, outcome))
    assert not found, f"{case.what}\n{case.expect}\n{found}\n{outcome.in_words()}"


def test_each_class_has_eight_cases_that_say_why_and_what_they_gave() -> None:
    told = cases(LIST)
    assert len({case.id for case in told}) == len(told)
    for kind in ("not earned", "not due", "lost", "input"):
        assert sum(case.kind == kind for case in told) >= 8, kind
    assert all(case.why and case.expect and case.gave for case in told)
