"""Seen on tickets, each at the level of the command: another card was taken, a joint glued an hour
ago was heated, an edited record was believed and handed over, numbers collided, OL was fine, and a
cold start after a repair ended in a traceback."""

from __future__ import annotations

import json
import os
import pty
import shutil
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from typer.testing import CliRunner

from burnin.cli.app import app
from burnin.record.reader import read_record
from burnin.record.sums import write_checksums
from burnin.ticket.log.store import read_ticket
from burnin.ticket.log.ticket_from_log import LOG
from tests.long import few_short

HEAD = 'format = 1\ntitle = "For a ticket"\n[guards]\ngpu_temp_limit_c = 95.0\n'
IDENTITY = '[[stages]]\nstage = "enumeration"\n'
LINK = '[[stages]]\nstage = "link"\nwidth_lanes = 16\ngeneration = 4\nidle_s = 0.5\nload_s = 3.0\n'
HEAT = (
    '[[stages]]\nstage = "thermal_ramp"\nsteps = [{ load_share = 1.0, hold_s = 4.0 }]\n'
    "cool_down_s = 1.0\n"
)
SUPPLY = (
    '[[before_power]]\nmeasure = "supply"\nname = "supply_12v"\ntitle = "12 V supply to ground"\n'
    "short_below_ohm = 5.0\nat_least_ohm = 50.0\n"
)
STARTS = (
    '[[stages]]\nstage = "cold_starts"\nstarts = 2\nwidth_lanes = 16\ngeneration = 4\n'
    "off_at_least_s = 0.0\n"
)
PROFILES = {
    "link": HEAD + IDENTITY + LINK,
    "heat": HEAD + IDENTITY + LINK + HEAT,
    "light": HEAD + IDENTITY,
    "supply": HEAD + SUPPLY + IDENTITY + LINK,
    "starts": HEAD + IDENTITY + STARTS,
}
CARDS = {
    "first": "",
    "twin": 'serial = "48b02d0000000222"\n',
    "flashed": 'firmware_version = "94.02.99.00.01"\n',
    "halved": "memory = { size_gib = 12 }\n",
    "fewer": 'outputs = [{ name = "DP-1" }]\n',
}


@pytest.fixture(autouse=True)
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty bench with small profiles, and cards that differ in one thing each."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("BURNIN_SHOP", str(tmp_path / "shop"))
    monkeypatch.setenv("BURNIN_TECHNICIAN", "Ilse Tarn")
    for name, text in PROFILES.items():
        (tmp_path / f"{name}.toml").write_text(text, "utf-8")
    for name, text in CARDS.items():
        scenario = f'name = "{name}"\ntitle = "A card"\n[card]\ncooling = "air"\n{text}'
        (tmp_path / f"card_{name}.toml").write_text(scenario, "utf-8")
    return tmp_path


def types(*words: str) -> tuple[int, str]:
    result = CliRunner().invoke(app, list(words))
    known = result.exception is None or isinstance(result.exception, SystemExit)
    assert known, result.exception
    return result.exit_code, " ".join(result.output.split())


def opened(profile: str, *more: str, number: str = "4711") -> None:
    words = ("-p", f"{profile}.toml", "--customer", "Ottilie Maro", *(more or ("--simulated",)))
    code, told = types("ticket", "open", number, *words)
    assert code == 0, told


def runs(*more: str, card: str = "first") -> tuple[int, str]:
    words = ("--ticket", "4711", "--unattended", "--simulated", f"card_{card}.toml")
    return types("run", *words, *more)


def newest(bench: Path) -> Path:
    found = (bench / "results" / "4711").glob("*/run.json")
    return max(found, key=lambda path: path.stat().st_mtime_ns).parent


def handed(bench: Path) -> str:
    made = max((bench / "results" / "4711").glob("handover-*/handover.json"))
    return str(json.loads(made.read_text("utf-8"))["verdict"])


@pytest.mark.parametrize(
    ("card", "told"),
    few_short(
        [
            ("twin", "serial number was 5fa7000900001234 and is 48b02d0000000222"),
            ("flashed", "firmware was CV9.31.00.07 and is 94.02.99.00.01"),
            ("halved", "memory was 24.0 GiB and is 12.0 GiB"),
            ("fewer", "outputs"),
        ],
        {"twin"},
    ),
)
def test_another_card_is_refused_unattended_and_said_in_what_it_differs(
    card: str, told: str, bench: Path
) -> None:
    opened("heat")
    assert runs("--without", "thermal_ramp")[0] == 4
    before = newest(bench)
    code, said = runs(card=card)
    assert code == 2
    assert told in said
    assert newest(bench) == before
    assert runs()[0] == 0


@pytest.mark.long
def test_at_a_terminal_it_is_asked_and_a_yes_counts_for_nothing(bench: Path) -> None:
    opened("heat")
    assert runs("--without", "thermal_ramp")[0] == 4
    command = ("run", "--ticket", "4711", "--simulated", "card_twin.toml")
    code, said = _at_terminal(bench, command, "n\n")
    assert code == 2
    assert "Another card than that of ticket 4711" in said
    code, said = _at_terminal(bench, command, "y\n")
    assert code == 0
    assert "counts for nothing" in said
    owed = json.loads(types("tickets", "--json")[1])[0]["owed"]
    assert [o["stage"] for o in owed] == ["3-thermal_ramp"]
    assert types("handover", "4711")[0] == 0
    assert handed(bench) == "conditional"


def _at_terminal(bench: Path, command: tuple[str, ...], typed: str) -> tuple[int, str]:
    ours, theirs = pty.openpty()
    burnin = [sys.executable, "-m", "burnin", *command]
    with subprocess.Popen(
        burnin, cwd=bench, stdin=theirs, stdout=subprocess.PIPE, stderr=subprocess.STDOUT
    ) as process:
        os.close(theirs)
        os.write(ours, typed.encode())
        said, _ = process.communicate(timeout=120)
        os.close(ours)
    return process.returncode, " ".join(said.decode("utf-8", "replace").split())


@pytest.mark.long
def test_replaced_firmware_is_entered_by_a_step_and_bound_by_the_next_run(bench: Path) -> None:
    opened("link")
    assert runs()[0] == 0
    assert runs("-p", "link.toml", card="flashed")[0] == 2
    code, told = types("ticket", "replaced", "4711", "firmware")
    assert code == 2
    assert "why" in told
    assert types("ticket", "replaced", "4711", "fan", "--note", "x")[0] == 2
    assert types("ticket", "replaced", "4711", "firmware", "--note", "the newest")[0] == 0
    # What was shown with the former one must be shown again; then the former one is another card.
    assert runs(card="flashed")[0] == 0
    assert runs("-p", "link.toml")[0] == 2
    assert "replaced: what firmware; note the newest" in types("ticket", "show", "4711")[1]
    assert len(list((bench / "results" / "4711").glob("*/run.json"))) == 2


def test_no_joint_is_heated_before_its_cure_time(bench: Path) -> None:
    opened("heat")
    types("ticket", "repair", "4711", "crack glued", "--cure", "24h")
    code, told = runs()
    assert code == 4
    assert "crack glued: cured for 0 min of 24.0 h" in told
    record = read_record(newest(bench))
    assert {row.stage: str(row.verdict) for row in record.stages if "whole" not in row.stage} == {
        "1-enumeration": "pass", "2-link": "not measured", "3-thermal_ramp": "not measured",
    }  # fmt: skip
    assert not any(share for share in record.series.columns["load_share"] if share)
    reason = next(r for r in record.stages if r.kind == "thermal_ramp").reasons[0]
    assert reason.code == "ticket_not_before"
    assert str(reason["from_utc"]) > record.run.started_utc
    assert types("ticket", "undefer", "4711", "thermal_ramp")[0] == 2


def test_now_overrules_the_cure_in_writing(bench: Path) -> None:
    opened("heat")
    types("ticket", "repair", "4711", "crack glued", "--cure", "24h")
    assert runs("--now", "soon")[0] == 2
    code, told = runs("--now", "the glue only seals")
    assert code == 4  # the link must be judged again once the joint is cured
    assert "the glue only seals" in told
    assert {str(r.verdict) for r in read_record(newest(bench)).stages} == {"pass"}
    assert read_ticket(bench / "results", "4711").nows[0].stages == ("2-link", "3-thermal_ramp")
    assert types("handover", "4711")[0] == 0
    made = max((bench / "results" / "4711").glob("handover-*/internal.html"))
    assert "the glue only seals" in made.read_text("utf-8")


@pytest.mark.long
def test_without_loop_or_enough_supply_the_rest_is_done(bench: Path) -> None:
    opened("heat")
    code, told = runs("--no-loop")
    assert code == 4
    assert "no loop is attached" in told
    rows = {r.kind: str(r.verdict) for r in read_record(newest(bench)).stages}
    assert (rows["enumeration"], rows["thermal_ramp"]) == ("pass", "not measured")
    text = PROFILES["heat"].replace("load_share = 1.0", "power_w = 250.0")
    (bench / "heat.toml").write_text(text, "utf-8")
    code, told = runs("-p", "heat.toml", "--supply-w", "200")
    assert code == 4
    assert "the supply gives the card 200 W" in told
    rows = {r.kind: str(r.verdict) for r in read_record(newest(bench)).stages}
    assert (rows["link"], rows["thermal_ramp"]) == ("pass", "not measured")


def _narrow(bench: Path) -> None:
    cause = '[[causes]]\nkind = "contact"\ncontact = "B54"\nstate = "open"\n'
    file = bench / "card_first.toml"
    file.write_text(file.read_text("utf-8") + cause, "utf-8")


@pytest.mark.parametrize("seal", [True, False])
def test_a_record_edited_to_pass_is_neither_signed_nor_handed_over(seal: bool, bench: Path) -> None:
    opened("link")
    _narrow(bench)
    assert runs()[0] in (1, 4)
    folder = newest(bench)
    run = json.loads((folder / "run.json").read_text("utf-8"))
    run["verdict"], run["owed"] = "pass", []
    for stage in run["stages"]:
        stage |= {"verdict": "pass", "reasons": []}
    (folder / "run.json").write_text(json.dumps(run), "utf-8")
    if seal:
        write_checksums(folder)
    code, told = types("handover", "4711")
    assert code == 2
    assert f"record {folder.name}: was changed since its run ended" in told
    assert not list((bench / "results" / "4711").glob("handover-*"))
    types("sheet", str(folder))
    assert types("verify", str(folder))[0] == 1


@pytest.mark.long
def test_what_is_not_the_tickets_refuses_the_handover_by_name(bench: Path) -> None:
    opened("link")
    assert types("run", "-p", "link.toml", "--simulated", "card_twin.toml", "--unattended")[0] == 0
    foreign = next(p.parent for p in (bench / "results").glob("*/*/run.json"))
    target = bench / "results" / "4711" / foreign.name
    shutil.copytree(foreign, target)
    code, told = types("handover", "4711")
    assert code == 2
    assert f"record {foreign.name}: is of another ticket (–)" in told
    shutil.rmtree(target)
    assert runs()[0] == 0
    shutil.move(newest(bench), bench / "elsewhere")
    code, told = types("handover", "4711")
    assert code == 2
    assert "is gone" in told


def test_a_simulated_run_counts_for_no_real_ticket(bench: Path) -> None:
    opened("link", "--serial", "48b02d0000000111")
    code, told = runs()
    assert "counts for nothing on it" in told
    code, told = types("handover", "4711")
    assert code == 2
    assert "is simulated, and the ticket is about a real card" in told
    owed = json.loads(types("tickets", "--json")[1])[0]["owed"]
    assert [o["what"]["code"] for o in owed] == ["owed_whole_run"]
    assert not read_ticket(bench / "results", "4711").closed


def test_a_line_taken_out_of_the_log_refuses_the_handover(bench: Path) -> None:
    opened("link")
    assert runs()[0] == 0
    types("ticket", "repair", "4711", "edge reworked")
    log = bench / "results" / "4711" / LOG
    lines = log.read_text("utf-8").splitlines(keepends=True)
    assert '"repaired"' in lines[-1]
    log.write_text("".join(lines[:-1]), "utf-8")
    code, told = types("handover", "4711")
    assert code == 2
    assert "lines were taken out" in told


@pytest.mark.long
def test_numbers_never_share_a_folder(bench: Path) -> None:
    words = ("-p", "link.toml", "--simulated", "card_first.toml", "--unattended")
    assert types("run", *words)[0] == 0
    day = next((bench / "results").glob("20*")).name
    for command in (("ticket", "open", day), ("run", "--ticket", day, *words)):
        code, told = types(*command)
        assert code == 2
        assert f"take another number, such as T-{day}" in told
    assert types("run", "--ticket", "R/84 06", *words)[0] == 0
    code, told = types("ticket", "open", "R-84-06")
    assert code == 2
    assert "a record of 'R/84 06'" in told
    assert types("ticket", "open", "R/84 06")[0] == 0
    for command in (("run", "--ticket", "R-84-06", *words), ("ticket", "show", "R-84-06")):
        code, told = types(*command)
        assert code == 2
        assert "'R/84 06'" in told
    assert types("ticket", "open", "bench")[0] == 2


@pytest.mark.long
def test_owed_heat_stays_owed_when_the_profile_is_corrected(bench: Path) -> None:
    opened("heat")
    assert runs("--without", "thermal_ramp")[0] == 4
    assert types("ticket", "correct", "4711", "profile=light.toml")[0] == 0
    runs()
    assert types("handover", "4711")[0] == 0
    assert handed(bench) == "conditional"
    assert not read_ticket(bench / "results", "4711").closed


def test_ol_on_a_supply_is_a_blown_fuse(bench: Path) -> None:
    opened("supply")
    _, told = types("measure", "4711", "supply_12v", "OL")
    assert "fuse" in told
    assert "unsure" in told
    assert runs()[0] == 4
    assert types("handover", "4711")[0] == 0
    assert handed(bench) == "conditional"


def test_values_before_power_are_read_as_a_person_means_them(bench: Path) -> None:
    opened("supply")
    assert types("measure", "4711", "supply_12v", "0.00 Ω")[0] == 1
    assert runs()[0] == 2
    for text in ("-120 Ω", "unstable", "rising", "2 .. 500 Ω"):
        code, told = types("measure", "4711", "supply_12v", "--", text)
        assert code == 2
        assert "Measure again" in told
        assert "capacitor" in told
    # Nobody worked on the card, and the value is another: it must be measured until two agree.
    _, told = types("measure", "4711", "supply_12v", "500 Ω")
    assert "does not settle" in told
    assert runs()[0] == 2
    code, told = types("measure", "4711", "supply_12v", "505 Ω")
    assert (code, "pass" in told) == (0, True)
    assert runs()[0] == 0
    for bad in (("60 Ω ± 0",), ("60 Ω", "--meter", "0%+0")):
        assert types("measure", "4711", "supply_12v", *bad)[0] == 2


def test_a_cold_start_begun_before_a_repair_is_no_traceback(
    bench: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened("starts")
    assert "cold start 1 of 2" in runs()[1]
    # Simulated time runs ahead of the wall; the repair comes after all that the run has seen.
    later = datetime.now(UTC) + timedelta(hours=1)
    monkeypatch.setattr("burnin.ticket.intake.repairs.utc_now", lambda: later)
    types("ticket", "repair", "4711", "plug crimped anew")
    code, told = runs()
    assert code == 4
    assert "cold start 1 of 2" in told
    record = read_record(newest(bench))
    assert "cold_starts_worked_on_since" in str([e.detail for e in record.events("Noted")])
    (counted,) = [r for r in record.readings if r.name == "cold_starts"]
    assert counted.reason is not None
    assert (counted.reason.code, counted.reason["seen_count"]) == ("cold_starts_more_wanted", 0)
