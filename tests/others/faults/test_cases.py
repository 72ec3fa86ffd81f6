"""Every case of the lists holds, or is known to be open and still is."""

import shutil

import pytest

from tests.others.faults.run_cases import LISTS, Case, broken, carry_out, cases
from tests.others.word_holds.run_cases import command

ALL = [case for name in LISTS for case in cases(name)]


def _param(case: Case) -> object:
    marks = [pytest.mark.long]
    if any("{failing}" in step for step in case.steps):
        marks.append(pytest.mark.skipif(shutil.which("cc") is None, reason="needs cc"))
    return pytest.param(case, id=case.id, marks=marks)


@pytest.mark.parametrize("case", [_param(case) for case in ALL if case.can_be_told])
def test_the_demand_holds(case: Case) -> None:
    outcome = carry_out(case, command())
    found = broken(case, outcome)
    if case.open:
        assert found, f"{case.id} holds now ({outcome.in_a_line()}): take its `open = true` away"
    else:
        assert not found, f"{case.what}\n{outcome.in_a_line()}\n{'; '.join(found)}\n{outcome.said}"


def test_ids_are_unique() -> None:
    assert len({case.id for case in ALL}) == len(ALL)


def test_no_two_cases_do_the_same() -> None:
    told = [case for case in ALL if case.can_be_told]
    assert len({case.steps for case in told}) == len(told)


def test_each_case_demands_something_and_says_why() -> None:
    for case in ALL:
        assert all((case.why, case.expect, case.gave)), case.id
        if case.can_be_told:
            assert (case.exit_codes or case.exit_not or case.verdict_in or case.verdict_not
                    or case.gone_within_s or case.works_within_s or case.says_all), case.id
        else:
            assert case.needs, case.id


def test_at_most_a_quarter_cannot_be_told() -> None:
    assert 4 * len([case for case in ALL if not case.can_be_told]) <= len(ALL)
