"""What the shop's own sheet says of warnings and forecasts, and the sheet after a stop."""

from __future__ import annotations

from pathlib import Path

from burnin.core.foreseen import ForecastsKept, StillLikely
from burnin.core.plain import plain
from burnin.guard.forecast_band import notes_of
from burnin.guard.meanings import GuardNote, GuardTerm
from burnin.record.reader import read_record
from burnin.report.languages.catalogue import catalogue
from burnin.report.sheet.content import compose
from burnin.report.ticket.run_sections import run_sections
from burnin.thermal.meanings import CoolingCause, CoolingCheck
from tests.report import records

WORDS = catalogue("en")
WARNS = GuardNote.WARNS(
    signal=GuardTerm.GPU(),
    limit_c=90.0,
    crossing_in_s=42.0,
    sure_pct=63.0,
    cause=CoolingCause.FAN(),
)
KEPT = (ForecastsKept(10.0, 200, 190, 0.84),)
LIKELY = (
    StillLikely(CoolingCause.MOUNT(), CoolingCheck.MOUNT(), 0.7),
    StillLikely(CoolingCause.CLOGGED(), CoolingCheck.DUST(), 0.25),
)


def told(draft: records.Draft, folder: Path) -> dict[str, tuple[str, ...]]:
    content = compose(read_record(draft.write(folder)), WORDS)
    return {section.title: tuple(section.lines) for section in run_sections(content, WORDS)}


def test_warnings_and_how_good_forecasts_were_are_for_the_shop_and_change_no_verdict(
    tmp_path: Path,
) -> None:
    plain_run = compose(read_record(records.passed().write(tmp_path / "before")), WORDS)
    draft = records.passed()
    stage = "6-thermal_ramp"
    draft.event(300.0, "WarningGiven", stage, warning=plain(WARNS))
    over = GuardNote.WARNING_LESS_LIKELY(stood_s=5.0)
    draft.event(305.0, "WarningOver", stage, why=plain(over))
    draft.event(500.0, "ForecastsJudged", "", kept=plain(KEPT), notes=plain(notes_of(KEPT)))
    sections = told(draft, tmp_path / "after")
    given, ended = sections["Warnings"]
    assert given == f"300.0 s after the start: {WORDS.say(WARNS)}"
    assert ended == f"305.0 s after the start: {WORDS.say(over)}"
    assert sections["How good the forecasts were"] == (WORDS.say(notes_of(KEPT)[0]),)
    after = compose(read_record(tmp_path / "after"), WORDS)
    assert (after.verdict, after.reason) == (plain_run.verdict, plain_run.reason)
    assert len(after.readings) == len(plain_run.readings)


def test_a_run_without_them_says_nothing_of_them(tmp_path: Path) -> None:
    sections = told(records.passed(), tmp_path / "r")
    assert sections["Warnings"] == sections["How good the forecasts were"] == ()


def test_after_a_stop_the_causes_stand_in_order_each_with_its_check(tmp_path: Path) -> None:
    draft = records.passed()
    draft.event(250.0, "GuardTripped", "6-thermal_ramp", signal="gpu_temp_c", likely=plain(LIKELY))
    [note] = compose(read_record(draft.write(tmp_path / "r")), WORDS).guards
    [value] = [fact.value for fact in note.facts if WORDS.say(LIKELY[0].cause) in fact.value]
    places = [value.index(WORDS.say(part)) for one in LIKELY for part in (one.cause, one.check)]
    assert places == sorted(places)
    assert "1. " in value
    assert "(25 %)" in value
