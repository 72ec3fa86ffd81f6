"""Every case against its demand, and the share of cases in which the party at fault comes first."""

import tomllib

import pytest

from tests.others.parties.carry import DEMANDS, HERE, PARTIES, Case, cases, look, right
from tests.others.parties.score import among_all, best_fixed_order, by_symptom, clopper_pearson

FIRST_AT_LEAST = 0.8
FIRST_IS_OPEN = False
ONE_ORDER_BELOW = 0.5
UNTOLD = tomllib.loads((HERE / "untold.toml").read_text())["case"]


def _param(case: Case) -> object:
    return pytest.param(case, id=case.id, marks=pytest.mark.long)


@pytest.mark.parametrize("case", [_param(case) for case in cases()])
def test_the_word_is_right(case: Case) -> None:
    found = look(case)
    if case.open:
        assert found.faults, f"{case.id} holds now ({found.told()}): take its `open = true` away"
    else:
        assert not found.faults, (f"{case.what}\n{found.told()}; demanded: {case.demand}\n"
                                  f"{'; '.join(found.faults)}")


@pytest.mark.long
@pytest.mark.timeout(1200)
def test_the_party_at_fault_is_named_first() -> None:
    wrong = [f"{case.id}: {case.party}, named {look(case).first or 'nobody'}" for case in cases()
             if not right(case, look(case).first)]
    holds = 1.0 - len(wrong) / len(cases()) >= FIRST_AT_LEAST
    if FIRST_IS_OPEN:
        assert not holds, "first often enough now: set FIRST_IS_OPEN to False"
    else:
        assert holds, "\n".join(wrong)


def test_no_fixed_order_does() -> None:
    for candidates in (among_all(cases()), by_symptom(cases())):
        count, order = best_fixed_order(candidates)
        assert count < ONE_ORDER_BELOW * len(cases()), order
        assert sorted(order) == sorted(PARTIES)


def test_ids_are_unique() -> None:
    ids = [case.id for case in cases()] + [case["id"] for case in UNTOLD]
    assert len(set(ids)) == len(ids)


def test_no_two_benches_are_the_same() -> None:
    looks = {(case.machine, case.profile, case.pads, case.options) for case in cases()}
    assert len(looks) == len(cases())


def test_demands_follow_the_party() -> None:
    for case in cases():
        assert {case.party, *case.also} <= set(PARTIES), case.id
        assert case.party == "card" or 1 not in DEMANDS[case.demand], case.id


def test_symptoms_are_shared() -> None:
    symptoms = {case.symptom for case in cases()}
    assert len(symptoms) >= 8
    for symptom in symptoms:
        assert len({case.party for case in cases() if case.symptom == symptom}) >= 2, symptom


def test_at_most_a_quarter_cannot_be_told() -> None:
    assert all(case["needs"] for case in UNTOLD)
    assert 4 * len(UNTOLD) <= len(UNTOLD) + len(cases())


def test_intervals_are_exact() -> None:
    """Values of scipy.stats.binomtest(k, n).proportion_ci()."""
    for hits, of, low, high in ((0, 10, 0.0, 0.308497107819), (10, 10, 0.691502892181, 1.0),
                                (7, 10, 0.347547149940, 0.933260488822)):
        assert clopper_pearson(hits, of) == pytest.approx((low, high), abs=1e-9)
