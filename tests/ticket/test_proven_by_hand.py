"""What a past run's record proves, condition by condition, each turned alone."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from burnin.core.verdict import WHOLE_RUN, StageVerdict
from burnin.profile.loader import load_profile
from burnin.ticket.intake.repairs import add_repair
from burnin.ticket.log.store import read_ticket
from burnin.ticket.log.whole_ticket import WholeTicket
from burnin.ticket.proven.counting import runs_that_count
from burnin.ticket.proven.meanings import ProvenSource
from burnin.ticket.proven.past_runs import PastRun, past_run, past_runs
from burnin.ticket.proven.proven_stages import Proven, carried_over, proven
from tests.ticket.tickets import at, run_of, ticket

SHA = load_profile("desktop_air").sha256


@pytest.fixture
def there(tmp_path: Path) -> WholeTicket:
    """A ticket in `tmp_path`, opened at the start."""
    return ticket(tmp_path)


@pytest.fixture
def run(there: WholeTicket) -> PastRun:
    """Its one run, an hour later, in which all passed."""
    return replace(past_run(run_of(there, 1.0)), vouched=True)


def _listed(run: PastRun, **other: object) -> WholeTicket:
    """The run's ticket as its log stands, the run's own line changed."""
    now = read_ticket(run.folder.parents[1], "4711")
    line = replace(now.runs[run.run_id], **other)  # type: ignore[arg-type]
    return replace(now, runs={**now.runs, run.run_id: line})


def test_readings_carried_over_name_the_run_once(run: PastRun) -> None:
    stage = proven((run,), SHA)[run.stages[2].stage]
    carried = carried_over(stage)
    assert len(carried) == len(stage.readings) > 0
    for before, after in zip(stage.readings, carried, strict=True):
        alone = ProvenSource.FROM_RUN_ALONE(run=run.run_id)
        named = ProvenSource.FROM_RUN(run=run.run_id, source=before.source or alone)
        assert after == replace(before, source=alone if before.source is None else named)
    again = carried_over(replace(stage, readings=carried, run_id="another"))
    assert again == carried


def test_a_run_of_another_profile_hides_none_behind_it(run: PastRun) -> None:
    profile = replace(run.run.profile, sha256="0" * 64)
    other = replace(run, run=run.run.model_copy(update={"profile": profile}))
    assert proven((other, run), SHA).keys() == proven((run,), SHA).keys() != set()
    assert proven((other,), SHA) == {}


def test_the_closing_part_stands_only_where_it_failed_and_hides_nothing(run: PastRun) -> None:
    stages = tuple(s for s in run.stages if s.kind != WHOLE_RUN)
    whole = stages[0].model_copy(update={"stage": WHOLE_RUN, "kind": WHOLE_RUN})
    passed = replace(run, run=run.run.model_copy(update={"stages": (whole, *stages)}))
    assert proven((passed,), SHA).keys() == {s.stage for s in stages}
    failed = whole.model_copy(update={"verdict": StageVerdict.FAIL})
    fallen = replace(run, run=run.run.model_copy(update={"stages": (failed, *stages)}))
    assert proven((fallen,), SHA)[WHOLE_RUN].failed


def test_a_stage_is_as_old_as_its_own_begin(run: PastRun) -> None:
    for row in run.stages:
        if row.kind == WHOLE_RUN:
            continue
        shown: Proven = proven((run,), SHA)[row.stage]
        assert shown.at == run.started + timedelta(seconds=row.started_s or 0.0)
        assert {reading.stage for reading in shown.readings} <= {row.stage}
    assert any(row.started_s for row in run.stages)


def test_what_is_judged_anew_stands_only_where_its_data_say_so(run: PastRun) -> None:
    """The record's rows carry no chain: of an older version, where the ticket may be so."""
    name = run.stages[1].stage
    unvouched = replace(run, vouched=False)
    assert not run.stands(name, older=False)
    assert run.stands(name, older=True)
    assert name not in proven((unvouched,), SHA)
    assert name in proven((replace(unvouched, may_be_older=True),), SHA)
    assert name in proven((run,), SHA, anew=True)
    rows = (run.folder / "readings.csv").read_text("utf-8").splitlines(keepends=True)
    changed = [row.replace(",pass,", ",fail,", 1) if f",{name}," in row else row for row in rows]
    assert changed != rows
    (run.folder / "readings.csv").write_text("".join(changed), "utf-8")
    edited = replace(past_run(run.folder), vouched=True)
    assert not edited.stands(name, older=True)
    assert name in proven((edited,), SHA)
    assert name not in proven((edited,), SHA, anew=True)
    stages = tuple(
        s.model_copy(update={"verdict": StageVerdict.FAIL}) if s.stage == name else s
        for s in edited.stages
    )
    failed = replace(unvouched, run=edited.run.model_copy(update={"stages": stages}))
    assert proven((failed,), SHA)[name].failed


def test_a_record_that_cannot_be_read_proves_nothing_and_hides_none(
    there: WholeTicket, run: PastRun
) -> None:
    broken = there.folder / "20260301T000000Z-broken"
    broken.mkdir()
    (broken / "run.json").write_text("{", "utf-8")
    assert [one.run_id for one in past_runs(there.folder)] == [run.run_id]
    (run.folder / "readings.csv").unlink()
    assert not past_run(run.folder).stands(run.stages[1].stage, older=False)


def test_a_run_is_of_the_ticket_that_lists_it(run: PastRun) -> None:
    now = _listed(run)
    assert run.is_of(now)
    assert not run.is_of(replace(now, number="4712"))
    assert not run.is_of(replace(now, runs={}, runs_listed=True))
    assert run.is_of(replace(now, runs={}, runs_listed=False))
    moved = replace(run, folder=run.folder.with_name("copied"))
    assert not moved.is_of(now)


def test_a_log_vouches_for_the_very_data_of_an_ended_run(run: PastRun) -> None:
    assert run.vouched_by(_listed(run))
    assert not run.changed_since_end(_listed(run))
    for other in ({"ended": False}, {"data_sha256": ""}):
        assert not run.vouched_by(_listed(run, **other))
        assert not run.changed_since_end(_listed(run, **other))
    changed = _listed(run, data_sha256="0" * 64)
    assert not run.vouched_by(changed)
    assert run.changed_since_end(changed)
    nothing_listed = replace(_listed(run), runs={})
    assert not run.vouched_by(nothing_listed)
    assert not run.changed_since_end(nothing_listed)


def test_runs_count_from_the_last_work_on_the_card_on(there: WholeTicket, run: PastRun) -> None:
    now = read_ticket(there.folder.parent, "4711")
    [counted] = runs_that_count(now)
    assert (counted.run_id, counted.vouched, counted.may_be_older) == (run.run_id, True, False)
    assert not runs_that_count(now, simulated=False)
    assert not runs_that_count(add_repair(now, "donor pads", contacts="B14", now=at(2.0)))


def test_the_newest_word_counts_and_a_failure_is_kept(there: WholeTicket) -> None:
    name = past_run(run_of(there, 1.0, s3="fail")).stages[2].stage
    run_of(there, 2.0)
    first, second = (replace(one, vouched=True) for one in past_runs(there.folder))
    assert (first.started, second.started) == (at(1.0), at(2.0))
    shown = proven((first, second), SHA)
    assert shown[name].failed
    assert shown[name].run_id == first.run_id
    others = {stage.run_id for key, stage in shown.items() if key not in (name, WHOLE_RUN)}
    assert others == {second.run_id}
