"""Every case of the lists holds, or is known to be broken today."""

from __future__ import annotations

import pytest

from tests.others.several.run_cases import LISTS, Case, broken, carry_out, cases

ALL = [case for name in LISTS for case in cases(name)]


def _param(case: Case) -> object:
    marks = [pytest.mark.long]
    if case.open:
        marks.append(pytest.mark.xfail(strict=False, reason=case.open))
    return pytest.param(case, id=case.id, marks=marks)


@pytest.mark.parametrize("case", [_param(case) for case in ALL])
def test_the_demand_holds(case: Case) -> None:
    outcome = carry_out(case)
    found = list(broken(case, outcome))
    assert not found, f"{case.what}\n{case.expect}\n{found}\n{outcome.said}"


def test_each_class_has_eight_cases_that_say_why_and_what_they_gave() -> None:
    assert len({case.id for case in ALL}) == len(ALL)
    assert len({(case.steps, case.shop) for case in ALL}) == len(ALL)
    for name in LISTS:
        assert len(cases(name)) >= 8, name
    assert all(case.why and case.expect and case.gave for case in ALL)
