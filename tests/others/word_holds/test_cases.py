"""Every case of the lists: the word holds, or the case is known to be open and still is."""

import pytest

from tests.others.word_holds.run_cases import LISTS, Case, broken, carry_out, cases, command

ALL = [case for name in LISTS for case in cases(name)]
SHORT = {"profile_of_nothing_checked", "negative_ohms",
         "empty_cell_in_file", "healthy_on_sound_bench"}


def _param(case: Case) -> object:
    slow = () if case.id in SHORT else (pytest.mark.long,)
    return pytest.param(case, id=case.id, marks=slow)


@pytest.mark.parametrize("case", [_param(case) for case in ALL if case.told])
def test_the_word_holds(case: Case) -> None:
    outcome = carry_out(case, command())
    found = broken(case, outcome)
    if case.open:
        assert found, f"{case.id} holds now ({outcome.told()}): take its `open = true` away"
    else:
        assert not found, f"{case.what}\n{outcome.told()}\n{'; '.join(found)}\n{outcome.said}"


def test_ids_are_unique() -> None:
    assert len({case.id for case in ALL}) == len(ALL)


def test_each_case_demands_something() -> None:
    for case in ALL:
        assert (case.exit_codes or case.exit_not or case.verdict_in or case.verdict_not
                or case.handed_not or case.sheet_not or case.ticket_not_closed), case.id


def test_no_two_cases_do_the_same() -> None:
    assert len({case.steps for case in ALL if case.told}) == len([c for c in ALL if c.told])


def test_at_most_a_quarter_cannot_be_told() -> None:
    for name in LISTS:
        listed = cases(name)
        untold = [case for case in listed if not case.told]
        assert all(case.needs for case in untold)
        assert 4 * len(untold) <= len(listed), name
