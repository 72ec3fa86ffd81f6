"""A stage whose card may not be loaded yet waits at rest, and it costs it no verdict."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from burnin.core.meaning import Note
from burnin.core.reading import NotMeasured
from burnin.core.sample import Sample
from burnin.core.ticket_header import Ticket
from burnin.core.verdict import RunVerdict, StageVerdict
from burnin.profile.loader import LoadedProfile, parse_profile
from burnin.record.reader import Record, read_record
from burnin.run.begin import plan_run
from burnin.run.bench import Options, open_bench_for
from burnin.run.leave.giver import Answer, Given, Never, Wait
from burnin.run.leave.meanings import LeaveNote, LeaveReason, LeaveTerm
from burnin.run.leave.need import Need
from burnin.run.plan import RunOutcome
from burnin.run.prompters import NobodyThere
from burnin.run.session import carry_out_with_sinks

PROFILE = """
format = 1
title = "One stage that works"
[guards]
gpu_temp_limit_c = 88.0
[[stages]]
stage = "enumeration"
[[stages]]
stage = "compute"
load_s = 2.0
"""
TAKEN = LeaveReason.WATTS_TAKEN(needed_w=136.5, free_w=20.0, budget_w=400.0)
BEHIND = LeaveReason.BEHIND(address="0000:02:00.0")
NEVER = LeaveReason.NEVER_WATTS(needed_w=136.5, most_w=100.0, budget_w=150.0)


@dataclass
class Giver:
    """Says one thing after the other as it is asked, the last for good, and keeps what it saw."""

    says: list[Answer]
    asked: list[Need] = field(default_factory=list)
    before: list[float] = field(default_factory=list)
    after: list[float] = field(default_factory=list)
    is_over: bool = False

    def ask(self, need: Need) -> None:
        self.asked.append(need)

    def answer(self, wait_s: float = 0.0) -> Answer:  # noqa: ARG002
        return self.says.pop(0) if len(self.says) > 1 else self.says[0]

    def over(self) -> None:
        self.is_over = True

    def see(self, sample: Sample) -> None:
        power_w = sample.telemetry.power_w
        assert not isinstance(power_w, NotMeasured)
        if self.is_over:
            self.after.append(power_w)
        elif isinstance(self.says[0], Wait):
            assert sample.load_share == 0.0
            self.before.append(power_w)

    def at_rest(self, wait_s: float = 0.0) -> bool:  # noqa: ARG002
        return len(self.after) >= 3 or isinstance(self.says[0], Never)


def loaded_profile() -> LoadedProfile:
    return parse_profile("one", "one.toml", PROFILE, tomllib.loads(PROFILE))


def burn_in(giver: Giver, results: Path) -> tuple[RunOutcome, Record]:
    loaded = loaded_profile()
    options = Options(simulated="healthy_x8")
    opened = open_bench_for(options)
    plan = plan_run(opened, loaded, Ticket(), options, results)
    outcome = carry_out_with_sinks(replace(plan, prompter=NobodyThere(), leave=giver))
    return outcome, read_record(outcome.folder)


def notes(record: Record) -> Sequence[Note]:
    told = (entry.note() for entry in record.journal)
    return [note for note in told if note is not None and note.code.startswith("leave_")]


def test_it_waits_at_rest_says_so_once_a_reason_and_passes(tmp_path: Path) -> None:
    giver = Giver([*[Wait(TAKEN)] * 10, *[Wait(BEHIND)] * 10, Given()])
    outcome, record = burn_in(giver, tmp_path)
    assert outcome.verdict is RunVerdict.PASS
    first, second, given = notes(record)
    assert (first["reason"], second["reason"]) == (TAKEN, BEHIND)
    assert given.means(LeaveNote.GIVEN)
    waited_s = given["waited_s"]
    assert isinstance(waited_s, float)
    assert 0.7 < waited_s < 4.0
    assert len(giver.before) >= 7
    assert max(giver.before) < 30.0
    assert len(giver.after) >= 3
    (need,) = giver.asked
    assert need.watts == 1.05 * 130.0
    assert need.bounded_by == LeaveTerm.BY_OWN_LIMIT()
    assert need.step_w == need.watts
    assert need.ways == frozenset()


def test_what_never_fits_is_owed_with_its_reason_and_never_a_pass(tmp_path: Path) -> None:
    outcome, _ = burn_in(Giver([Wait(TAKEN), Never(NEVER)]), tmp_path)
    assert outcome.verdict is RunVerdict.CONDITIONAL
    (compute,) = (stage for stage in outcome.stages if stage.kind == "compute")
    assert compute.verdict is StageVerdict.NOT_MEASURED
    assert compute.reasons == (NEVER,)
    assert [work.reason for work in outcome.owed] == [NEVER]


def test_without_a_budget_nothing_is_noted(tmp_path: Path) -> None:
    outcome, record = burn_in(Giver([Given(bounded=False)]), tmp_path)
    assert outcome.verdict is RunVerdict.PASS
    assert not notes(record)
