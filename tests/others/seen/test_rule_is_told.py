"""Each judged reading carries the rule that judged it: on record, judged anew, on the sheet."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from burnin.core.decision import DecisionRule, Form, RuleTerm, rule_of
from burnin.core.reading import Reading, Verdict, decide
from burnin.profile.loader import load_profile
from burnin.record.reader import Record, read_record
from burnin.replay.readings_anew import reading_anew
from burnin.replay.verdicts import judge_anew
from burnin.report.languages.catalogue import catalogue
from burnin.report.sheet.content import compose
from burnin.report.ticket.run_sections import run_sections
from tests.run.driving import run_simulated

HEAT = """
format = 1
title = "Heat"

[guards]
gpu_temp_limit_c = 95.0
{decision}
[[stages]]
stage = "thermal_ramp"
steps = [{{ load_share = 1.0, hold_s = 20.0 }}]
cool_down_s = 2.0
gpu_temp_at_most_c = {limit_c}
power_at_least_w = 100.0
"""
JUDGED = (Verdict.PASS, Verdict.FAIL, Verdict.UNSURE)


def ran(tmp_path: Path, limit_c: float = 90.0, decision: str = "") -> Record:
    tmp_path.mkdir(exist_ok=True)
    path = tmp_path / "heat.toml"
    path.write_text(HEAT.format(limit_c=limit_c, decision=decision))
    return run_simulated("healthy", load_profile(str(path)), tmp_path / "results").record


def of_stages(record: Record) -> list[Reading]:
    return [r for r in record.all_readings if r.stage != "whole_run"]


def test_every_judged_reading_of_a_stage_names_its_rule(tmp_path: Path) -> None:
    record = ran(tmp_path)
    for reading in of_stages(record):
        assert (reading.rule is not None) == (reading.verdict in JUDGED), reading
    hottest = next(r for r in record.readings if r.name == "gpu_temp_max_c")
    assert hottest.rule == RuleTerm.RECTANGULAR(pass_risk_pct=5.0, fail_sure_pct=95.0)
    assert rule_of(hottest.rule)[1] is Form.RECTANGULAR
    power = next(r for r in record.readings if r.name == "power_w")
    assert power.rule == RuleTerm.NORMAL(pass_risk_pct=5.0, fail_sure_pct=95.0)
    assert judge_anew(record).as_recorded


@pytest.mark.parametrize("language", ["en", "de"])
def test_the_internal_sheet_shows_value_limit_rule_and_result(
    tmp_path: Path, language: str
) -> None:
    words = catalogue(language)
    content = compose(ran(tmp_path), words)
    [section] = [
        s for s in run_sections(content, words) if s.title == words.label("internal", "readings")
    ]
    assert section.table is not None
    header, rows = section.table.header, section.table.rows
    assert words.label("internal", "rule") in header
    letter = dict(line.split(": ", 1) for line in section.lines)
    row = next(r for r in rows if r[1] == words.reading("gpu_temp_max_c"))
    assert "±" in row[2]
    assert "90" in row[3]
    told = words.say(RuleTerm.RECTANGULAR(pass_risk_pct=5.0, fail_sure_pct=95.0))
    assert letter[row[4]] == told


@pytest.mark.parametrize(
    ("decision", "risk"), [("", 0.05), ("[decision]\npass_risk = 0.2\n", 0.2)]
)
def test_the_profile_s_accepted_risk_decides(
    tmp_path: Path, decision: str, risk: float
) -> None:
    record = ran(tmp_path, 50.6, decision)
    found = next(r for r in record.readings if r.name == "gpu_temp_max_c")
    rule = DecisionRule(pass_risk=risk)
    assert found.rule == rule.term(found.uncertainty, Form.RECTANGULAR)
    assert isinstance(found.value, float)
    assert found.limit is not None
    follows = decide(found.value, found.uncertainty, found.limit, rule, Form.RECTANGULAR)
    assert found.verdict is follows
    assert reading_anew(found).verdict is follows


def test_a_stated_accuracy_widens_the_uncertainty_and_names_its_source(tmp_path: Path) -> None:
    stated = '[decision.temperature]\nwithin_k = 3.0\nsource = "data sheet, table 4"\n'
    record = ran(tmp_path, decision=stated)
    found = next(r for r in record.readings if r.name == "gpu_temp_max_c")
    # 2·√(1/12 + 9/3), JCGM 100:2008, 4.3.7 and 5.1.2.
    assert found.uncertainty == pytest.approx(2 * (1 / 12 + 3.0) ** 0.5)
    assert "data sheet, table 4" in catalogue("en").say(found.source)


def test_a_record_of_before_has_no_rule_and_reads_as_ever(tmp_path: Path) -> None:
    record = ran(tmp_path)
    path = record.folder / "readings.csv"
    with path.open(newline="") as lines:
        rows = list(csv.DictReader(lines))
    gone = ("rule", "rule_data", "chain")
    kept = [name for name in rows[0] if name not in gone]
    with path.open("w", newline="") as out:
        table = csv.DictWriter(out, kept, extrasaction="ignore", lineterminator="\n")
        table.writeheader()
        table.writerows(rows)
    before = read_record(record.folder).readings
    assert [(r.name, r.value, r.verdict) for r in before] == [
        (r.name, r.value, r.verdict) for r in record.readings
    ]
    assert all(r.rule is None for r in before)
