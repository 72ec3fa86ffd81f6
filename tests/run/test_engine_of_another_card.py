"""An engine that works another card than the one under test: no load is given to it."""

from __future__ import annotations

from pathlib import Path

import pytest

from burnin.core.reading import Verdict
from burnin.core.verdict import StageVerdict
from burnin.run import card_lock
from burnin.run.reasons import RunReason
from burnin.stages.registry import stage_kind
from tests.others.seen.test_two_runs import Bench
from tests.run.two_cards import FIRST


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Bench:
    monkeypatch.setattr(card_lock, "FOLDERS", (tmp_path / "lock",))
    return Bench(monkeypatch, tmp_path / "results")


def test_an_engine_that_works_another_card_is_given_no_load(bench: Bench) -> None:
    bench.run(FIRST, engine_of=bench.cards.second)
    record = bench.record()
    [proof] = [r for r in record.all_readings if r.name == "engine_works_this_card"]
    assert (proof.value, proof.verdict) == ("not this card", Verdict.FAIL)
    working = [stage for stage in record.stages if stage_kind_works(stage.kind)]
    assert len(working) >= 3
    for stage in working:
        assert stage.verdict in (StageVerdict.NOT_MEASURED, StageVerdict.FAIL), stage.stage
        told = [part for reason in stage.reasons for part in reason.parts()]
        told += [
            part
            for reading in record.readings_of(stage.stage)
            if reading.reason is not None
            for part in reading.reason.parts()
        ]
        assert any(part.means(RunReason.OTHER_CARD_WORKED) for part in told), stage.stage
    # that engine was asked for the proof's own slices, and never for a load
    loaded = {sample.stage for sample in record.samples() if sample.load_share > 0.0}
    assert loaded == {proof.stage}
    assert max(sample.load_share for sample in record.samples()) <= 0.5


def stage_kind_works(kind: str) -> bool:
    return kind != "whole_run" and stage_kind(kind).works
