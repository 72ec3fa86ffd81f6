from __future__ import annotations

import csv
from pathlib import Path

import pytest

from burnin.core.errors import EngineError
from burnin.core.meaning import Note
from burnin.engine.device.meanings import PatternReason
from burnin.engine.device.patterns import FAMILIES, passes, word, written_and_read
from burnin.engine.job import (
    ArithmeticLoad,
    ComputeResult,
    Failed,
    FailingWord,
    Job,
    LinkTraffic,
    LoadResult,
    MemoryResult,
    MemoryTest,
    Plant,
    Progress,
    RepeatedCompute,
    ResultPlant,
    Started,
    TrafficResult,
    WorkEvent,
)
from burnin.engine.meanings import EngineCause, EngineReason
from burnin.report.languages.catalogue import catalogue
from burnin.sim.engine.meanings import SimReason
from burnin.sim.scenario.model import Scenario
from tests.sim.machines import bench_of, load, run_for, with_causes, work

ALL = tuple(FAMILIES)
CELL = {"kind": "memory_cell", "address": 0x01234560, "bit": 9, "stuck_at": 1}


def memory_result(scenario: str | Scenario, job: MemoryTest) -> MemoryResult:
    result = work(bench_of(scenario), job)[-1]
    assert isinstance(result, MemoryResult)
    return result


def test_sound_memory_has_no_failing_word_in_any_pattern() -> None:
    result = memory_result("healthy", MemoryTest(0.5, ALL))
    assert result.failing_words == 0
    assert result.complete
    assert set(result.pattern_failures) == set(ALL)
    assert result.tested_bytes == pytest.approx(0.5 * result.free_bytes, rel=1e-3)
    assert result.total_bytes == 24 << 30


def test_a_stuck_cell_is_found_where_it_lies_by_every_pattern_that_writes_the_other_value() -> None:
    result = memory_result(with_causes("healthy", CELL), MemoryTest(0.1, ALL))
    assert {w.address_bytes for w in result.examples} == {0x01234560}
    assert all(w.got == w.expected | 1 << 9 for w in result.examples)
    assert [bit for bit, count in enumerate(result.bit_counts) if count] == [9]
    for name in ALL:
        wrong = sum(
            not word(name, p.expect, 0x01234560 // 4, 1) >> 9 & 1
            for p in passes(name)
            if p.expect >= 0
        )
        assert result.pattern_failures[name] == wrong
    assert result.pattern_failures["solid"] == 2


def test_a_cell_outside_the_tested_part_is_not_seen() -> None:
    far = CELL | {"address": 20 << 30}
    result = memory_result(with_causes("healthy", far), MemoryTest(0.2, ("solid",)))
    assert result.failing_words == 0


def test_a_cell_that_fails_only_when_warm_is_found_only_when_warm() -> None:
    bench = bench_of(with_causes("healthy", CELL | {"above_memory_c": 40.0}))
    cold = work(bench, MemoryTest(0.1, ("solid",)))[-1]
    load(bench, 250.0)
    bench.engine.stop()
    bench.engine.poll()
    warm = work(bench, MemoryTest(0.1, ("solid",)))[-1]
    assert isinstance(cold, MemoryResult)
    assert isinstance(warm, MemoryResult)
    assert (cold.failing_words, warm.failing_words) == (0, 2)


def test_a_stuck_data_line_fails_in_one_chip_and_one_bit() -> None:
    line = {"kind": "memory_line", "chip": 5, "bit": 30, "stuck_at": 0}
    result = memory_result(with_causes("healthy", line), MemoryTest(0.1, ("solid", "own_address")))
    words_of_chip = result.tested_bytes / 4 / 12
    # solid writes 0, 1, 0: the stuck 0 shows in one of three; own_address in one of two.
    assert result.pattern_failures["solid"] == pytest.approx(words_of_chip, rel=1e-3)
    assert result.pattern_failures["own_address"] == pytest.approx(words_of_chip, rel=1e-2)
    assert [bit for bit, count in enumerate(result.bit_counts) if count] == [30]
    assert {w.address_bytes // 256 % 12 for w in result.examples} == {5}
    assert result.hint is not None
    assert result.hint.means(EngineCause.ONE_BIT)
    assert result.hint["bit"] == 30


def test_failing_words_are_told_and_listed_in_the_file(tmp_path: Path) -> None:
    path = tmp_path / "failing_words.csv"
    job = MemoryTest(0.1, ("solid",), passes=2, failing_words_path=str(path))
    events = work(bench_of(with_causes("healthy", CELL)), job)
    rows = list(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))
    assert [int(row["address_bytes"], 16) for row in rows] == [0x01234560] * 4
    assert [row["pass"] for row in rows] == ["0", "0", "1", "1"]
    assert sum(isinstance(event, FailingWord) for event in events) == 4


def test_a_memory_test_takes_the_time_that_its_bytes_need_and_warms_the_memory() -> None:
    bench = bench_of("healthy")
    before_c = bench.machine.network.at("memory")
    result = work(bench, MemoryTest(1.0, ("moving_inversions",), duty=0.5))[-1]
    assert isinstance(result, MemoryResult)
    ways = sum(written_and_read("moving_inversions"))
    assert result.seconds == pytest.approx(result.tested_bytes * ways / 900e9 / 0.5, rel=0.02)
    assert bench.machine.network.at("memory") > before_c + 0.5


def test_a_stopped_memory_test_says_that_it_is_not_complete() -> None:
    bench = bench_of(with_causes("healthy", CELL))
    bench.engine.begin(MemoryTest(1.0, ("solid", "walking_bits")))
    run_for(bench, 1.0)
    assert bench.engine.stop() <= 0.1
    result = bench.engine.poll()[-1]
    assert isinstance(result, MemoryResult)
    assert not result.complete
    assert result.tested_bytes == 0
    assert result.pattern_failures["solid"] == 2


def test_unknown_patterns_and_plants_are_refused() -> None:
    engine = bench_of("healthy").engine
    with pytest.raises(EngineError) as unknown:
        engine.begin(MemoryTest(0.1, ("stripes",)))
    assert unknown.value.reason.means(PatternReason.UNKNOWN)
    assert unknown.value.reason["pattern"] == "stripes"
    with pytest.raises(EngineError) as planted:
        engine.begin(MemoryTest(0.1, ("solid",), plants=(Plant(0),)))
    assert planted.value.reason == SimReason.DISTURBS_NO_WORDS()
    with pytest.raises(EngineError) as planted:
        engine.begin(RepeatedCompute(1.0, plants=(ResultPlant("float", 0),)))
    assert planted.value.reason == SimReason.DISTURBS_NO_RESULTS()
    engine.begin(ArithmeticLoad())
    with pytest.raises(EngineError) as busy:
        engine.begin(ArithmeticLoad())
    assert busy.value.reason == EngineReason.JOB_RUNS()


@pytest.mark.parametrize(
    "job",
    [ArithmeticLoad(0.5), LinkTraffic(2.0, "both"), MemoryTest(0.1, ("solid",)),
     RepeatedCompute(1.0)],
)  # fmt: skip
@pytest.mark.parametrize("language", ["en", "de"])
def test_plans_and_progress_have_words(job: Job, language: str) -> None:
    engine = bench_of("healthy").engine
    engine.begin(job)
    words = catalogue(language)
    told = [note for event in engine.poll() for note in notes_of(event)]
    assert told
    for note in told:
        for part in note.parts():
            assert words.knows(part.code), part.code
        assert "{" not in words.say(note)


def notes_of(event: WorkEvent) -> list[Note]:
    if isinstance(event, Started):
        return [event.plan]
    return [event.note] if isinstance(event, Progress) and event.note is not None else []


def test_sound_arithmetic_repeats_to_the_bit_and_a_weak_core_does_not() -> None:
    weak = {"kind": "compute", "bit": 22, "one_in": 1e9, "above_die_c": 45.0, "unit": "float"}
    for scenario, hurt in (("healthy", False), (with_causes("healthy", weak), True)):
        result = work(bench_of(scenario), RepeatedCompute(30.0))[-1]
        assert isinstance(result, ComputeResult)
        assert (result.mismatches > 0) is hurt
        assert result.repeats > 100
        assert all(e.expected ^ e.got == 1 << 22 and e.unit == "float" for e in result.examples)


def test_a_weak_core_is_right_while_it_is_cool() -> None:
    weak = {"kind": "compute", "bit": 22, "one_in": 1e6, "above_die_c": 70.0}
    result = work(bench_of(with_causes("healthy_loop", weak)), RepeatedCompute(10.0))[-1]
    assert isinstance(result, ComputeResult)
    assert result.mismatches == 0


@pytest.mark.parametrize(
    ("scenario", "direction", "lanes", "gts"),
    [("healthy", "to_card", 16, 16.0), ("narrow_link", "to_host", 8, 16.0),
     ("healthy_x8", "both", 8, 16.0), ("healthy_compute", "both", 16, 32.0)],
)  # fmt: skip
def test_copies_run_at_the_payload_rate_of_the_trained_link(
    scenario: str, direction: str, lanes: int, gts: float
) -> None:
    from burnin.card.rates import payload_limit_gbs

    result = work(bench_of(scenario), LinkTraffic(5.0, direction))[-1]
    assert isinstance(result, TrafficResult)
    limit = payload_limit_gbs({16.0: 4, 32.0: 5}[gts], lanes, 256)
    rate = max(result.to_card_gbs, result.to_host_gbs)
    assert (0.6 if direction == "both" else 0.85) * limit < rate <= limit
    assert (result.to_card_bytes == 0) == (direction == "to_host")
    assert (result.to_host_bytes == 0) == (direction == "to_card")


def test_the_load_follows_its_share_and_ends_when_stopped() -> None:
    bench = bench_of("healthy")
    bench.engine.begin(ArithmeticLoad(0.25))
    run_for(bench, 5.0)
    quarter_w = bench.machine.heat.total_w
    bench.engine.set_share(0.75)
    run_for(bench, 5.0)
    most_w = bench.machine.heat.total_w
    assert bench.engine.stop() <= 0.1
    bench.clock.sleep_s(1.0)
    assert bench.machine.heat.total_w < 30.0 < 1.5 * quarter_w < most_w
    result = bench.engine.poll()[-1]
    assert isinstance(result, LoadResult)
    assert result.seconds == pytest.approx(10.0, abs=0.1)
    assert bench.engine.stop() == 0.0


def test_the_load_ends_by_itself_when_the_beats_stop() -> None:
    bench = bench_of("healthy")
    bench.engine.begin(ArithmeticLoad(1.0))
    run_for(bench, 3.0)
    bench.clock.sleep_s(1.8)
    assert bench.machine.activity.core == 1.0
    bench.clock.sleep_s(0.5)
    assert bench.machine.activity.idle
    last = bench.engine.poll()[-1]
    assert isinstance(last, Failed)
    assert last.reason == EngineReason.NO_HEARTBEAT(seconds=2.0)
    assert not last.device_lost


def test_events_open_with_the_plan_and_progress_never_falls() -> None:
    events = work(bench_of("healthy"), RepeatedCompute(5.0))
    assert isinstance(events[0], Started)
    done = [event.done for event in events if isinstance(event, Progress)]
    assert done == sorted(done)
    assert done[-1] == pytest.approx(5.0)
