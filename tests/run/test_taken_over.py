"""What of an interrupted record is taken over, what is done again, and with which of its rows."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from burnin.core.errors import RecordError
from burnin.core.events import CounterAt, CountersRead, Event, TrafficSummed
from burnin.core.reading import Verdict, of_stage
from burnin.core.verdict import WHOLE_RUN, Ended, RunVerdict, StageVerdict
from burnin.engine.job import FailingWord
from burnin.record.durable import DurableTable
from burnin.record.reader import Record, read_record
from burnin.record.schema.tables import FAILING_WORDS
from burnin.record.writer import RecordWriter
from burnin.replay.reasons import Disagreement
from burnin.run.plan import Earlier
from burnin.run.reasons import RunReason
from burnin.run.resume import profile_of, read_earlier
from burnin.stages.context import Interrupted
from tests.record.streams import HandClock, WhyReason
from tests.refusals import refused, words_of
from tests.replay.told_runs import (
    PROFILE,
    Told,
    bad,
    end,
    good,
    record_of,
    start,
    unread,
)

NO_LAMP = WhyReason.NO_LAMP()
FIRST, SECOND, THIRD, FOURTH = "1-enumeration", "2-display", "3-memory", "4-link"
CUT = Told(FOURTH, "link", None, (good("lanes"), bad("width"), unread("speed")))
"""The stage that the power went in."""


def earlier(folder: Path, *parts: Event | Told) -> Earlier:
    return read_earlier(record_of(folder, start(), *parts))


def test_stages_that_came_to_their_end_are_taken_over_with_what_they_read(tmp_path: Path) -> None:
    passed = Told(FIRST, "enumeration", StageVerdict.PASS, (good(), good("screens")))
    failed = Told(SECOND, "display", StageVerdict.FAIL, (bad(),), (bad().reason,), "Screens")  # type: ignore[arg-type]
    open_one = Told(THIRD, "memory", StageVerdict.CONDITIONAL, (good(), unread()), (NO_LAMP,))
    record = record_of(tmp_path, start(), passed, failed, open_one, CUT)
    found = read_earlier(record)
    assert list(found.outcomes) == [FIRST, SECOND, THIRD]
    assert {name: o.verdict for name, o in found.outcomes.items()} == {
        FIRST: StageVerdict.PASS, SECOND: StageVerdict.FAIL, THIRD: StageVerdict.CONDITIONAL,
    }  # fmt: skip
    assert found.outcomes[SECOND].own_title == "Screens"
    assert found.outcomes[SECOND].reasons == failed.reasons
    assert found.readings == {
        FIRST: (of_stage(good(), FIRST), of_stage(good("screens"), FIRST)),
        SECOND: (of_stage(bad(), SECOND),),
        THIRD: (of_stage(good(), THIRD), of_stage(unread(), THIRD)),
    }
    assert found.doubted == {}


def test_of_a_stage_that_was_cut_only_what_failed_is_kept(tmp_path: Path) -> None:
    found = earlier(tmp_path, Told(FIRST, "enumeration", StageVerdict.PASS, (good(),)), CUT)
    assert found.failed_before == {FOURTH: (of_stage(bad("width"), FOURTH),)}
    assert found.interrupted == {FOURTH: Interrupted()}
    assert FOURTH not in found.outcomes
    assert FOURTH not in found.readings


@pytest.mark.parametrize(
    "verdict", [StageVerdict.ABORTED, StageVerdict.NOT_MEASURED, StageVerdict.INCOMPLETE]
)
def test_a_stage_that_did_not_come_to_its_end_is_done_again(
    verdict: StageVerdict, tmp_path: Path
) -> None:
    ended = Told(FIRST, "enumeration", verdict, (good(),), (NO_LAMP,))
    found = earlier(tmp_path, ended, Told(SECOND, "display", StageVerdict.PASS, (good(),)), CUT)
    assert list(found.outcomes) == [SECOND]  # those after it are looked at too
    assert found.failed_before == {FIRST: (), FOURTH: (of_stage(bad("width"), FOURTH),)}


def test_a_stage_that_claims_more_than_its_readings_is_done_again_and_why_is_told(
    tmp_path: Path,
) -> None:
    claimed = replace(bad("lamps"), verdict=Verdict.PASS, reason=None)
    doubted = Told(FIRST, "enumeration", StageVerdict.PASS, (claimed, bad("screens")))
    found = earlier(tmp_path, doubted, CUT)
    assert found.doubted == {
        FIRST: Disagreement.READING(
            stage=FIRST, reading="lamps", told=Verdict.PASS, follows=Verdict.FAIL
        )
    }
    assert found.outcomes == {}
    assert found.failed_before[FIRST] == (of_stage(bad("screens"), FIRST),)


def test_the_closing_part_is_made_anew_at_the_end(tmp_path: Path) -> None:
    """It may stand before stages that were begun when the run had gone on once."""
    closing = Told(WHOLE_RUN, WHOLE_RUN, StageVerdict.PASS, (good("seen"),))
    after = Told(SECOND, "display", StageVerdict.PASS, (good(),))
    found = earlier(tmp_path, closing, after, CUT)
    assert list(found.outcomes) == [SECOND]
    assert set(found.failed_before) == {FOURTH}


def test_a_stage_over_several_boots_is_open_until_it_has_passed(tmp_path: Path) -> None:
    for verdict, is_open in ((StageVerdict.PASS, False), (StageVerdict.CONDITIONAL, True)):
        readings = (good(),) if verdict is StageVerdict.PASS else (good(), unread())
        starts = Told("1-cold_starts", "cold_starts", verdict, readings, ())
        found = earlier(tmp_path / verdict, starts, CUT)
        assert ("1-cold_starts" in found.outcomes) is not is_open
        assert ("1-cold_starts" in found.interrupted) is is_open
        assert found.doubted == {}


# ---- what was summed and counted


def sums(stage: str, seconds: float) -> TrafficSummed:
    return TrafficSummed(stage, seconds, 10**9, 7, 0, {"card bad TLP": 0}, {"card replays": 1})


def test_traffic_of_a_stage_that_goes_on_is_taken_over(tmp_path: Path) -> None:
    """A soak goes on from its sums; those of a stage that ended, or is doubted, belong to it."""
    claimed = replace(bad(), verdict=Verdict.PASS, reason=None)
    found = earlier(
        tmp_path,
        Told(FIRST, "link", StageVerdict.PASS, (good(),)), sums(FIRST, 1.0),
        Told(SECOND, "link", StageVerdict.PASS, (claimed,)), sums(SECOND, 2.0),
        CUT, sums(FOURTH, 3.0), sums(FOURTH, 4.0),
    )  # fmt: skip
    assert set(found.doubted) == {SECOND}
    assert found.soaks == {FOURTH: sums(FOURTH, 4.0)}


def read(stage: str, of: str, value: int, missing: bool = False) -> CountersRead:
    counters = () if missing else (CounterAt("card", "bad TLP", value, 2**16),)
    return CountersRead(stage, of, counters, NO_LAMP if missing else None)


def test_counters_are_known_as_they_stood_at_the_first_start_of_the_stage(tmp_path: Path) -> None:
    found = earlier(
        tmp_path,
        read("", "link_errors", 1), read(FIRST, "memory_errors", 2), CUT,
        read(FOURTH, "memory_errors", 0, missing=True),
        read(FOURTH, "memory_errors", 3), read(FOURTH, "memory_errors", 4),
        read(FOURTH, "link_errors", 5),
    )  # fmt: skip
    assert found.interrupted[FOURTH].counters == {
        "memory_errors": read(FOURTH, "memory_errors", 3),
        "link_errors": read(FOURTH, "link_errors", 5),
    }


WORDS = (
    FailingWord(0x1A0, 0x10, 0x12, "walking"), FailingWord(0xFFF8, 0xFFFFFFFF, 0xFFFF7FFF, "march"),
)  # fmt: skip
COLUMNS = ("address_bytes", "expected", "got", "flipped_bits", "pattern", "step", "pass")


def record_with_words(folder: Path) -> Record:
    """A stage that passed, then one in which words failed before the power went."""
    folder.mkdir(parents=True)
    clock = HandClock()
    writer = RecordWriter(folder, clock, 0.0)
    for event in (start(), *Told(FIRST, "memory", StageVerdict.PASS, (good(),)).events()):
        writer(event)
    for event in Told(THIRD, "memory", None, (bad("wrong_words"),)).events():
        writer(event)
    table = DurableTable(folder / FAILING_WORDS, COLUMNS)
    for word in WORDS:
        flipped = f"0x{word.expected ^ word.got:x}"
        table.append(
            {
                "address_bytes": f"0x{word.address_bytes:x}", "expected": f"0x{word.expected:x}",
                "got": f"{word.got:08x}", "flipped_bits": flipped, "pattern": word.pattern,
                "step": 0, "pass": 0,
            }
        )  # fmt: skip
    table.close()
    writer.close()
    return read_record(folder)


def test_words_that_read_back_wrong_before_the_cut_are_not_forgotten(tmp_path: Path) -> None:
    found = read_earlier(record_with_words(tmp_path / "r"))
    assert found.interrupted[THIRD].failed_words == WORDS
    assert found.failed_before[THIRD] == (of_stage(bad("wrong_words"), THIRD),)
    assert FIRST in found.outcomes


# ---- what nothing goes on in


def test_a_run_that_came_to_its_end_is_not_gone_on_with(tmp_path: Path) -> None:
    passed = Told(FIRST, "enumeration", StageVerdict.PASS, (good(),))
    record = record_of(tmp_path, start(), passed, end(RunVerdict.PASS))
    with refused(RecordError, match=r"came to its end \(pass\); nothing to resume") as told:
        read_earlier(record)
    assert str(record.folder) in words_of(told.value)


@pytest.mark.parametrize("ended", [Ended.STOPPED_BY_HAND, Ended.FAILED, Ended.TRIPPED])
def test_a_run_that_was_ended_is_gone_on_with(ended: Ended, tmp_path: Path) -> None:
    passed = Told(FIRST, "enumeration", StageVerdict.PASS, (good(),))
    verdict = RunVerdict.ABORTED if ended is Ended.TRIPPED else RunVerdict.CONDITIONAL
    found = earlier(tmp_path, passed, end(verdict, NO_LAMP, ended))
    assert list(found.outcomes) == [FIRST]


def test_a_run_at_its_end_goes_on_while_a_stage_over_several_boots_is_open(
    tmp_path: Path,
) -> None:
    starts = Told(
        "2-cold_starts", "cold_starts", StageVerdict.CONDITIONAL, (good(), unread()), (NO_LAMP,)
    )
    passed = Told(FIRST, "enumeration", StageVerdict.PASS, (good(),))
    closing = Told(WHOLE_RUN, WHOLE_RUN, StageVerdict.CONDITIONAL, (good(), unread()))
    over = end(RunVerdict.CONDITIONAL, NO_LAMP)
    found = earlier(tmp_path / "1", passed, starts, closing, over)
    assert list(found.outcomes) == [FIRST]
    with refused(RecordError, match="nothing to resume"):
        earlier(tmp_path / "2", passed, closing, over)  # the closing part is open for nobody
    done = replace(starts, verdict=StageVerdict.PASS, readings=(good(),))
    with refused(RecordError, match="nothing to resume"):
        earlier(tmp_path / "3", passed, done, end(RunVerdict.PASS))


def test_a_record_with_a_flaw_is_refused_with_the_flaw(tmp_path: Path) -> None:
    folder = record_of(tmp_path, start(), CUT).folder
    readings = folder / "readings.csv"
    readings.write_bytes(readings.read_bytes().replace(b"lanes", b"Lanes"))
    record = read_record(folder)
    with pytest.raises(RecordError) as told:
        read_earlier(record)
    [flaw] = record.condition.edited
    assert told.value.told == RunReason.NOT_GONE_ON_WITH(folder=str(folder), flaws=(flaw,))


def test_a_record_of_an_older_format_is_refused_with_what_may_still_be_done(data: Path) -> None:
    record = read_record(data / "records" / "compute_card_cuda")
    with pytest.raises(RecordError) as told:
        read_earlier(record)
    assert words_of(told.value) == (
        f"{record.folder} was written by an older version of this tool (format 1); it can be read"
        " and judged, a run does not go on in it: begin anew"
    )


def test_the_profile_of_a_record_is_the_text_that_it_kept(tmp_path: Path) -> None:
    loaded = profile_of(record_of(tmp_path, start(), CUT))
    assert (loaded.name, loaded.file, loaded.text) == ("look", "look.toml", PROFILE)
    assert loaded.profile.title == "One look"
