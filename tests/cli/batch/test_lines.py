"""A batch on the screen: one line a card, which says what it does and what it waits for."""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path

import pytest
from rich.console import Console

from burnin.cli.batch.lines import BatchLines
from burnin.cli.batch.row import card_text, sensors, state
from burnin.cli.batch.words_around import lines_after, lines_before
from burnin.core.verdict import RunVerdict, VerdictReason
from burnin.record.batches.batch import Batch, CardOfBatch
from burnin.report.languages.catalogue import catalogue
from burnin.run.batch.meanings import BatchNote, BatchReason
from burnin.run.batch.member import Member
from burnin.run.leave.letters import Shows
from burnin.run.leave.meanings import LeaveReason

CARD = CardOfBatch(
    "0000:01:00.0", "Corvane Silt 4", 1, "4711", "short_x8", record="4711/a", run_id="a"
)
WAITS = LeaveReason.WATTS_TAKEN(needed_w=136.5, free_w=20.0, budget_w=400.0)


def member(**changes: object) -> Member:
    return Member(replace(CARD, **changes), lambda _: [])  # type: ignore[arg-type]


@pytest.mark.parametrize("language", ["en", "de"])
def test_a_card_says_where_it_stands(language: str) -> None:
    words = catalogue(language)
    one = member()
    assert state(one, words, simulated=False)
    one.ready = one.may_begin = True
    one.shows = Shows("compute", "", 2, 6, 1, 98.4, None)
    one.waits = WAITS
    told = state(one, words, simulated=False)
    assert told.startswith(("3 of 6", "3 von 6"))
    assert words.say(WAITS) in told
    assert sensors(one, words).startswith("98 W")
    assert "?" in sensors(one, words)
    assert card_text(one.card, words).count("0000:01:00.0") == 1


def test_the_word_stands_last_and_a_simulated_one_is_its_own() -> None:
    words = catalogue("en")
    done = member(word=RunVerdict.PASS, ended=True)
    assert state(done, words, simulated=False) == "pass"
    assert "SIMULATED" in state(done, words, simulated=True)
    lost = member(why=BatchReason.KILLED(signal="SIGKILL"), ended=True)
    assert state(lost, words, simulated=False).startswith("no word; its run was killed (SIGKILL)")


@pytest.mark.parametrize("language", ["en", "de"])
def test_before_and_after_name_every_card_the_bound_and_how_to_go_on(
    language: str, tmp_path: Path
) -> None:
    words, results = catalogue(language), tmp_path
    all_passed = VerdictReason.ALL_STAGES_PASSED(stages_count=6)
    passed = replace(CARD, word=RunVerdict.PASS, why=all_passed, ended=True)
    lost = replace(CARD, address="0000:02:00.0", ticket="", ended=True,
                   why=BatchReason.KILLED(signal="SIGKILL"))  # fmt: skip
    batch = Batch("b", "", (passed, lost), budget_w=400.0)
    before = "\n".join(lines_before(batch, batch.cards, words, ()))
    assert "400 W" in before
    assert "4711" in before
    after = "\n".join(lines_after(batch, results, words))
    assert f"burnin run --resume {results / 'batches' / 'b.json'}" in after
    assert "PASS" in after or "BESTANDEN" in after
    whole = lines_after(replace(batch, cards=(passed,)), results, words)
    assert not any("--resume" in line for line in whole)
    unbounded = lines_before(replace(batch, budget_w=None), batch.cards, words, ())
    assert "[power]" in unbounded[0]


def test_without_a_terminal_each_change_is_a_line_and_watts_alone_are_none() -> None:
    out = io.StringIO()
    console = Console(file=out, width=200, highlight=False)
    lines = BatchLines(console, catalogue("en"), simulated=False)
    one = member()
    lines.show([one])
    one.ready = one.may_begin = True
    one.shows = Shows("compute", "", 2, 6, 0, 98.4, 40.0)
    for power_w in (98.4, 99.0):
        one.shows = replace(one.shows, power_w=power_w)
        lines.changed(one)
    for free_w in (20.0, 30.0):
        one.waits = LeaveReason.WATTS_TAKEN(needed_w=136.5, free_w=free_w, budget_w=400.0)
        lines.changed(one)
    lines.note(BatchNote.HANGS(address=CARD.address, silent_s=60.0))
    lines.close()
    assert [line[:12] for line in out.getvalue().splitlines()] == ["0000:01:00.0"] * 3
    assert "waits: it may draw" in out.getvalue()


def test_on_a_terminal_the_lines_change_in_their_place_and_rest_while_a_prompt_stands() -> None:
    out = io.StringIO()
    console = Console(file=out, width=200, force_terminal=True, highlight=False)
    lines = BatchLines(console, catalogue("en"), simulated=False)
    one = member()
    one.ready = one.may_begin = True
    one.shows = Shows("compute", "", 2, 6, 0, 98.4, 40.0)
    lines.pause()
    lines.show([one])
    lines.changed(one)
    lines.go_on()
    one.card = replace(one.card, word=RunVerdict.PASS, ended=True)
    lines.changed(one)
    lines.close()
    assert "0000:01:00.0  pass" in out.getvalue()
