"""Every alteration is told and named, every lawful change verifies; what is open still is."""

import fcntl
from pathlib import Path

import pytest

from tests.others.alterations.run_cases import (
    FORGED,
    LAWFUL,
    Case,
    broken,
    carry_out,
    cases,
    command,
)
from tests.others.alterations.story import Told, tell

LISTS = {name: cases(name) for name in (*FORGED, LAWFUL)}
ALL = [case for listed in LISTS.values() for case in listed]


def _param(case: Case) -> object:
    return pytest.param(case, id=case.id, marks=pytest.mark.long)


@pytest.fixture(scope="session")
def story(tmp_path_factory: pytest.TempPathFactory, worker_id: str) -> Told:
    """The story, told once for all workers."""
    base = tmp_path_factory.getbasetemp()
    shared = base if worker_id == "master" else base.parent
    told = Told(shared / "altered_story", command())
    with (shared / "altered_story.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not _told(shared).exists():
            tell(told.work, told.burnin)
            _told(shared).touch()
    return told


def _told(shared: Path) -> Path:
    return shared / "altered_story.told"


@pytest.mark.parametrize("case", [_param(case) for case in ALL if case.told])
def test_the_round_tells(case: Case, story: Told) -> None:
    outcome = carry_out(case, story, command())
    found = broken(case, outcome)
    said = "\n".join(f"$ {each.command}\n{each.said}" for each in outcome.answers)
    if case.open:
        assert found, f"{case.id} holds now ({outcome.told()}): take its `open = true` away"
    else:
        assert not found, f"{case.what}\n{outcome.told()}\n{'; '.join(found)}\n{said}"


def test_ids_are_unique() -> None:
    assert len({case.id for case in ALL}) == len(ALL)


def test_each_alteration_says_what_must_be_named() -> None:
    for case in ALL:
        assert case.lawful or case.names, case.id


def test_no_two_cases_do_the_same() -> None:
    done = [(case.steps, case.verify, case.asks, case.round) for case in ALL if case.told]
    assert len(set(done)) == len(done)


def test_each_class_has_its_cases() -> None:
    assert all(len(LISTS[name]) >= 6 for name in FORGED)
    assert sum(len(LISTS[name]) for name in FORGED) >= 60
    assert len(LISTS[LAWFUL]) >= 10


def test_at_most_a_quarter_cannot_be_told() -> None:
    for name, listed in LISTS.items():
        untold = [case for case in listed if not case.told]
        assert all(case.needs for case in untold)
        assert 4 * len(untold) <= len(listed), name
