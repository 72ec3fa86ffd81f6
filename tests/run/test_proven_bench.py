"""What a known-good card's run proves of its slot, for how long, and what proves nothing."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from burnin.cli.bench_lines import declare_known_good, forget_slot
from burnin.core.errors import BadInput
from burnin.core.proven_bench import NotProven, ProvenBench, Slot
from burnin.record.reader import Record, read_record
from burnin.report.languages.catalogue import catalogue
from burnin.run.proven.bench_log import file_of, slots_kept
from burnin.run.proven.meanings import ProofReason, ProvenReason
from burnin.run.proven.proof import refusals
from burnin.run.proven.shown import ProofAge, bench_shown
from burnin.run.proven.telling import further_terms, shown_term
from tests.refusals import refused
from tests.run.driving import run_simulated
from tests.run.known_good import link_alone, run

HALF_WIRED = """
name = "half_wired"
title = "Eight lanes wired, the port says sixteen"
[bench]
slot_width_lanes = 8
port_width_lanes = 16
[card]
cooling = "air"
"""
SHORT_CARD = """
name = "short_card"
title = "A sound card of eight lanes"
[card]
cooling = "air"
width_lanes = 8
"""


def shown(record: Record) -> ProvenBench | NotProven:
    found = record.run.bench_shown
    assert found is not None
    return found


def why(record: Record) -> ProvenReason:
    found = shown(record)
    assert isinstance(found, NotProven)
    return ProvenReason(found.reason.code)


def declare(record: Record, results: Path, now: datetime | None = None) -> tuple[str, ...]:
    moment = now or datetime.now(UTC) + timedelta(minutes=3)
    found = declare_known_good(results, record.folder, "Ilse Tarn", now=moment)
    return tuple(reason.code for reason in found.refused)


@pytest.fixture
def scenario(tmp_path: Path) -> Path:
    path = tmp_path / "half_wired.toml"
    path.write_text(HALF_WIRED)
    return path


def test_a_bench_that_nobody_proved_says_so_on_the_record(tmp_path: Path) -> None:
    record = run("healthy", tmp_path)
    assert why(record) is ProvenReason.NEVER
    assert shown(record).slot == Slot("0000:00:01.0", shown(record).slot.bench)
    assert len(shown(record).slot.bench) == 16


def test_a_known_good_run_proves_its_slot(tmp_path: Path) -> None:
    first = run("healthy", tmp_path)
    assert declare(first, tmp_path) == ()
    found = shown(run("healthy", tmp_path))
    assert isinstance(found, ProvenBench)
    assert found.by == "Ilse Tarn"
    assert found.runs == (first.run.run_id,)
    assert (found.width_lanes, found.speed_gts) == (16, 16.0)
    assert found.carries(16.0, 16.0)
    assert not found.carries(16.0, 32.0)
    assert found.to_card_gbs
    assert found.to_host_gbs
    assert found.supply_w
    assert (found.width_limit_lanes, found.speed_limit_gts) == (None, None)
    for language in ("en", "de"):
        told = catalogue(language).say(shown_term(found))
        assert "Ilse Tarn" in told
        assert "16" in told
        assert all(catalogue(language).knows(term.code) for term in further_terms(found))


def test_a_proof_of_eight_lanes_says_nothing_of_sixteen(tmp_path: Path) -> None:
    short = tmp_path / "short.toml"
    short.write_text(SHORT_CARD)
    assert declare(run(short, tmp_path, link_alone(8)), tmp_path) == ()
    found = shown(run("healthy", tmp_path))
    assert isinstance(found, ProvenBench)
    assert found.carries(8.0, 16.0)
    assert not found.carries(16.0, 16.0)
    assert found.width_limit_lanes is None


def test_a_good_card_of_sixteen_lanes_shows_that_eight_are_wired(
    tmp_path: Path, scenario: Path
) -> None:
    assert declare(run(scenario, tmp_path, link_alone(8)), tmp_path) == ()
    record = run(scenario, tmp_path)
    found = shown(record)
    assert isinstance(found, ProvenBench)
    assert found.width_limit_lanes == 8
    readings = {r.name: r for r in record.readings}
    assert readings["link_width_lanes"].limit is not None
    assert readings["link_width_lanes"].limit.lower == 8.0
    assert record.run.verdict.value == "conditional"


def test_a_newer_limit_takes_back_what_an_older_proof_reached(
    tmp_path: Path, scenario: Path
) -> None:
    assert declare(run("healthy", tmp_path), tmp_path) == ()
    later = run(scenario, tmp_path, link_alone(8), days=0.5)
    assert declare(later, tmp_path, datetime.now(UTC) + timedelta(days=1)) == ()
    found = shown(run("healthy", tmp_path, days=1.0))
    assert isinstance(found, ProvenBench)
    assert not found.carries(16.0, None)


@pytest.mark.parametrize(("days", "counts"), [(29.0, True), (31.0, False)])
def test_a_proof_ages_by_days(tmp_path: Path, days: float, counts: bool) -> None:
    declare(run("healthy", tmp_path), tmp_path)
    found = shown(run("healthy", tmp_path, days=days))
    assert isinstance(found, ProvenBench) is counts
    if isinstance(found, NotProven):
        assert found.reason.means(ProvenReason.TOO_OLD)
        assert found.reason["days_count"] == 30.0


def test_a_proof_ages_by_starts_that_runs_saw(tmp_path: Path) -> None:
    age = ProofAge(days=30.0, starts=2)
    declare(run("healthy", tmp_path, age=age), tmp_path)
    since = []
    for boot in ("", "", "boot-2", "boot-2", "boot-3", "boot-4"):
        found = shown(run("healthy", tmp_path, boot=boot, age=age, days=0.1))
        since.append(found.starts_since if isinstance(found, ProvenBench) else found.reason.code)
    assert since == [0, 0, 1, 1, 2, ProvenReason.TOO_MANY_STARTS.value]


def test_a_clock_that_went_back_proves_nothing(tmp_path: Path) -> None:
    declare(run("healthy", tmp_path), tmp_path)
    assert why(run("healthy", tmp_path, days=-3.0)) is ProvenReason.IN_THE_FUTURE


def test_another_bench_knows_nothing_of_it(tmp_path: Path) -> None:
    record = run("healthy", tmp_path)
    declare(record, tmp_path)
    slot, now = shown(record).slot, datetime.now(UTC) + timedelta(hours=1)
    here = bench_shown(tmp_path, slot, now, None, ProofAge())
    other = bench_shown(tmp_path, replace(slot, bench="0" * 16), now, None, ProofAge())
    beside = bench_shown(tmp_path, replace(slot, port="0000:00:02.0"), now, None, ProofAge())
    assert isinstance(here, ProvenBench)
    assert isinstance(other, NotProven)
    assert isinstance(beside, NotProven)


@pytest.mark.parametrize(
    ("slot", "code"),
    [
        (Slot("", "0" * 16), ProvenReason.PORT_UNKNOWN),
        (Slot("0000:00:01.0", ""), ProvenReason.BENCH_UNKNOWN),
    ],
)
def test_a_slot_that_cannot_be_told_is_never_proven(
    tmp_path: Path, slot: Slot, code: ProvenReason
) -> None:
    found = bench_shown(tmp_path, slot, datetime.now(UTC), None, ProofAge())
    assert isinstance(found, NotProven)
    assert found.reason.means(code)


def test_what_is_forgotten_counts_no_more_and_stays_written(tmp_path: Path) -> None:
    record = run("healthy", tmp_path)
    declare(record, tmp_path)
    slot = shown(record).slot
    forget_slot(tmp_path, "00:01.0", slot.bench, "Ilse Tarn")
    assert why(run("healthy", tmp_path)) is ProvenReason.FORGOTTEN
    assert record.run.run_id in file_of(tmp_path, slot).read_text()
    with refused(BadInput, match="nothing is proven"):
        forget_slot(tmp_path, "00:01.0", slot.bench, "Ilse Tarn")
    later = run("healthy", tmp_path)
    assert declare(later, tmp_path) == ()
    assert isinstance(shown(run("healthy", tmp_path)), ProvenBench)


def test_a_changed_line_proves_nothing_and_a_torn_end_costs_itself_alone(tmp_path: Path) -> None:
    record = run("healthy", tmp_path)
    declare(record, tmp_path)
    ((_, path),) = slots_kept(tmp_path)
    whole = path.read_bytes()
    path.write_bytes(whole + b'{"time_utc": "2026-')
    assert isinstance(shown(run("healthy", tmp_path)), ProvenBench)
    path.write_bytes(whole.replace(b"Ilse Tarn", b"Ilse Turn") + whole)
    assert why(run("healthy", tmp_path)) is ProvenReason.LOG_UNREADABLE


def test_the_same_run_is_declared_once(tmp_path: Path) -> None:
    record = run("healthy", tmp_path)
    declare(record, tmp_path)
    with refused(BadInput, match="already"):
        declare(record, tmp_path)


class TestWhatProvesNothing:
    def test_a_simulated_run(self, tmp_path: Path) -> None:
        ran = run_simulated("healthy", link_alone(), tmp_path)
        assert ProofReason.SIMULATED.value in declare(ran.record, tmp_path)
        assert slots_kept(tmp_path) == ()

    def test_a_simulated_run_that_hides_it_in_one_place(self, tmp_path: Path) -> None:
        ran = run_simulated("healthy", link_alone(), tmp_path)
        path = ran.folder / "run.json"
        content = json.loads(path.read_text())
        content.update(simulated=False, simulated_scenario="")
        path.write_text(json.dumps(content))
        assert declare(read_record(ran.folder), tmp_path)

    def test_an_edited_record(self, tmp_path: Path) -> None:
        record = run("half_wired_slot", tmp_path)
        path = record.folder / "run.json"
        path.write_text(path.read_text().replace('"conditional"', '"pass"'))
        codes = declare(read_record(record.folder), tmp_path)
        assert ProofReason.NOT_WHOLE.value in codes

    def test_a_record_that_nobody_vouches_for(self, tmp_path: Path) -> None:
        record = run("healthy", tmp_path)
        (record.folder / "checksums.sha256").unlink()
        assert ProofReason.NO_CHECKSUMS.value in declare(read_record(record.folder), tmp_path)

    def test_a_torn_record(self, tmp_path: Path) -> None:
        record = run("healthy", tmp_path)
        path = record.folder / "readings.csv"
        path.write_bytes(path.read_bytes()[:-20])
        assert ProofReason.NOT_WHOLE.value in declare(read_record(record.folder), tmp_path)

    def test_a_link_that_did_not_pass(self, tmp_path: Path, scenario: Path) -> None:
        codes = declare(run(scenario, tmp_path), tmp_path)
        assert ProofReason.LINK_NOT_PASSED.value in codes

    def test_a_run_without_a_link_stage(self, tmp_path: Path) -> None:
        record = run("healthy", tmp_path)
        bare = record.run.model_copy(update={"stages": ()})
        read_back = Record(record.folder, bare, record.format_read, ())
        found = [reason.code for reason in refusals(read_back, datetime.now(UTC))]
        assert ProofReason.NO_LINK_STAGE.value in found

    def test_a_record_of_an_older_tool_that_tells_no_slot(self, tmp_path: Path) -> None:
        record = run("healthy", tmp_path)
        old = record.run.model_copy(update={"bench_shown": None})
        read_back = Record(record.folder, old, record.format_read, ())
        found = [reason.code for reason in refusals(read_back, datetime.now(UTC))]
        assert ProofReason.SLOT_UNTOLD.value in found

    def test_a_run_from_the_future(self, tmp_path: Path) -> None:
        record = run("healthy", tmp_path, days=2.0)
        assert declare(record, tmp_path) == (ProofReason.FROM_THE_FUTURE.value,)

    def test_every_reason_has_words(self) -> None:
        for code in (*ProofReason, *ProvenReason):
            assert all(catalogue(language).knows(code.value) for language in ("en", "de"))
