"""A run planned anew on an interrupted record: its time goes on, and nobody else is in it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from burnin.core.clock import iso
from burnin.core.errors import BadInput, HeldByAnotherRun, RecordError
from burnin.core.events import Event, SampleTaken
from burnin.core.identity import Identity
from burnin.core.reading import NotMeasured, Verdict
from burnin.core.verdict import RunVerdict, StageVerdict
from burnin.record.reader import Record
from burnin.replay.reasons import Disagreement
from burnin.run import card_lock
from burnin.run.bench import Options, open_bench_for
from burnin.run.card_lock import lock_card
from burnin.run.proven.shown import ProofAge
from burnin.run.reasons import RunNote, RunReason
from burnin.run.record_lock import lock_record
from burnin.run.resume import plan_again, read_earlier, seconds_since
from tests.record import streams
from tests.record.streams import WhyReason
from tests.refusals import refused, words_of
from tests.replay.told_runs import Told, bad, end, good, record_of, start

NO_LAMP = WhyReason.NO_LAMP()
FIRST, SECOND = "1-enumeration", "2-display"
PASSED = Told(FIRST, "enumeration", StageVerdict.PASS, (good(),))
CUT = Told(SECOND, "display", None, (good(),))
OPTIONS = {"simulated": "healthy", "seed": 3}


@pytest.fixture(scope="module")
def identity() -> Identity:
    """The card of the simulated bench."""
    opened = open_bench_for(Options(simulated="healthy", seed=3))
    opened.close()
    assert opened.identity is not None
    return opened.identity


Begun = Callable[..., Record]


@pytest.fixture
def begun(tmp_path: Path, identity: Identity) -> Begun:
    """A run of this bench that was begun so many seconds ago and cut in its second stage."""

    def made(*more: Event | Told, ago_s: float = 100.0, **opening: object) -> Record:
        moment = iso(datetime.now(UTC) - timedelta(seconds=ago_s))
        told: dict[str, Any] = {"options": OPTIONS, "card": identity, **opening}
        told["started_utc"] = moment
        return record_of(tmp_path, start(**told), *(more or (PASSED, CUT)))

    return made


def is_free(folder: Path) -> bool:
    try:
        lock_record(folder).release()
    except HeldByAnotherRun:
        return False
    return True


def test_the_run_goes_on_as_what_it_was(begun: Begun) -> None:
    record = begun(resumed=2)
    plan = plan_again(record.folder)
    run, opening = record.run, plan.opening
    assert (opening.run_id, opening.started_utc, opening.resumed) == (
        run.run_id, run.started_utc, 3,
    )  # fmt: skip
    assert (opening.ticket, opening.folder) == (run.ticket, str(record.folder))
    assert opening.options == {**vars(Options()), **OPTIONS}
    assert opening.profile.sha256 == run.profile.sha256
    assert plan.profile.title == "One look"
    assert plan.bench.scenario == "healthy"
    assert plan.folder == record.folder
    assert plan.earlier == read_earlier(record)
    assert list(plan.earlier.outcomes) == [FIRST]
    assert plan.notes == ()


def test_the_folder_is_held_from_then_on(begun: Begun) -> None:
    record = begun()
    plan = plan_again(record.folder)
    assert not is_free(record.folder)
    with pytest.raises(HeldByAnotherRun) as refused:
        plan_again(record.folder)
    assert refused.value.reason == RunReason.RECORD_HELD(record=str(record.folder))
    assert plan.held is not None
    plan.held.release()
    assert is_free(record.folder)


def test_a_refused_record_is_held_by_nobody(begun: Begun, identity: Identity) -> None:
    other = begun(card=replace(identity, device_id=identity.device_id + 1))
    with pytest.raises(BadInput):
        plan_again(other.folder)
    assert is_free(other.folder)


def test_elapsed_seconds_go_on_by_the_wall(begun: Begun) -> None:
    plan = plan_again(begun(ago_s=3600.0).folder)
    passed_s = plan.bench.clock.monotonic_s() - plan.start_s
    assert 3600.0 <= passed_s < 3630.0
    assert passed_s == pytest.approx(round(passed_s, 3), abs=1e-7)  # whole milliseconds


@pytest.mark.parametrize("ago_s", [0.0, -7200.0])
def test_elapsed_seconds_never_run_back(ago_s: float, begun: Begun) -> None:
    """The clock of the wall was set back, or a simulated one had run ahead of it."""
    ahead = [SampleTaken(streams.sample(5000.25 + n, SECOND)) for n in range(3)]
    record = begun(PASSED, CUT, *ahead, ago_s=ago_s)
    assert record.last_elapsed_s == 5002.25
    plan = plan_again(record.folder)
    assert plan.bench.clock.monotonic_s() - plan.start_s == pytest.approx(5003.25)


def test_what_is_done_again_in_spite_of_its_end_is_noted_with_the_reason(begun: Begun) -> None:
    claimed = replace(bad(), verdict=Verdict.PASS, reason=None)
    plan = plan_again(
        begun(Told(FIRST, "enumeration", StageVerdict.PASS, (claimed,)), CUT).folder
    )
    why = Disagreement.READING(
        stage=FIRST, reading="lamps", told=Verdict.PASS, follows=Verdict.FAIL
    )
    assert plan.notes == (RunNote.DONE_AGAIN(stage=FIRST, reason=why),)


def test_how_long_a_proof_of_the_bench_counts_is_handed_on(
    begun: Begun, monkeypatch: pytest.MonkeyPatch
) -> None:
    from burnin.run import begin

    asked: list[ProofAge] = []
    real = begin.shown_by

    def shown_by(opened: object, results: Path, age: ProofAge) -> object:
        asked.append(age)
        return real(opened, results, age)  # type: ignore[arg-type]

    monkeypatch.setattr(begin, "shown_by", shown_by)
    record = begun()
    for age in (ProofAge(3.0), ProofAge(90.0)):
        plan = plan_again(record.folder, age)
        assert plan.held is not None
        plan.held.release()
    assert asked == [ProofAge(3.0), ProofAge(90.0)]


# ---- another card


@pytest.mark.parametrize("part", ["vendor_id", "device_id"])
def test_a_run_does_not_go_on_with_another_card(
    part: str, begun: Begun, identity: Identity
) -> None:
    other: dict[str, Any] = {part: 0x1234, "name": "Corvane Strata 8"}
    then = replace(identity, **other)
    record = begun(card=then)
    with pytest.raises(BadInput) as told:
        plan_again(record.folder)
    ids = f"{then.vendor_id:04x}:{then.device_id:04x}"
    assert words_of(told.value) == (
        f"{record.folder} was begun on Corvane Strata 8 ({ids}) at {then.address}, 24 GiB;"
        " another card is on this bench now: put that one in, or begin anew"
    )


def test_a_run_does_not_go_on_with_a_card_of_another_number(
    begun: Begun, identity: Identity
) -> None:
    """The bench's card tells none now: it may be another."""
    record = begun(card=replace(identity, serial="0123"))
    with pytest.raises(BadInput) as told:
        plan_again(record.folder)
    assert words_of(told.value) == (
        f"{record.folder} was begun on the card with serial 0123: put that one in, or begin anew"
    )


def test_a_card_that_told_no_number_goes_on(begun: Begun, identity: Identity) -> None:
    record = begun(card=replace(identity, serial=NotMeasured(NO_LAMP), subsystem_id=7))
    assert plan_again(record.folder).earlier.outcomes


def test_a_run_that_had_no_card_goes_on(begun: Begun) -> None:
    assert plan_again(begun(card=None, card_absent=NO_LAMP).folder).earlier.outcomes


# ---- somebody else in it


def test_who_works_the_card_for_this_record_is_named(
    begun: Begun, identity: Identity, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(card_lock, "FOLDERS", (tmp_path / "locks",))
    record = begun()
    held = lock_record(record.folder)
    lock = lock_card(identity)
    lock.tell(record.folder)
    with pytest.raises(HeldByAnotherRun) as refused:
        plan_again(record.folder)
    why = refused.value.reason
    assert why.means(RunReason.CARD_HELD_FOR_RECORD)
    assert (why["address"], why["record"]) == (identity.address, str(record.folder))
    assert refused.value.__cause__ is None
    lock.tell(tmp_path / "another")  # the card is worked for another record
    with pytest.raises(HeldByAnotherRun) as refused:
        plan_again(record.folder)
    assert refused.value.reason == RunReason.RECORD_HELD(record=str(record.folder))
    held.release()
    lock.release()


def test_who_holds_a_record_that_had_no_card_cannot_be_named(begun: Begun) -> None:
    record = begun(card=None, card_absent=NO_LAMP)
    held = lock_record(record.folder)
    with pytest.raises(HeldByAnotherRun) as refused:
        plan_again(record.folder)
    assert refused.value.reason == RunReason.RECORD_HELD(record=str(record.folder))
    held.release()


def test_a_run_at_its_end_is_not_planned_anew(begun: Begun) -> None:
    record = begun(PASSED, end(RunVerdict.PASS))
    with refused(RecordError, match="nothing to resume"):
        plan_again(record.folder)
    assert is_free(record.folder)


# ---- the time since the start

NOON = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("started", "passed_s"),
    [
        ("2026-03-02T11:59:58.500Z", 1.5),
        ("2026-03-02T12:00:00.000Z", 0.0),
        ("2026-03-01T12:00:00.000Z", 86400.0),
        ("2026-03-02T12:00:05.000Z", 0.0),  # set back since
        ("yesterday", 0.0),
        ("", 0.0),
    ],
)
def test_seconds_since_the_start_are_those_of_the_wall_and_never_less_than_none(
    started: str, passed_s: float
) -> None:
    assert seconds_since(started, NOON) == passed_s
