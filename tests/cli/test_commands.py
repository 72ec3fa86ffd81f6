"""The command: what a person types, what comes back, and the exit code."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner

import burnin
from burnin.cli.app import app
from burnin.core.verdict import RunVerdict
from burnin.record.reader import read_record
from tests.run.shared_runs import SharedRuns

HEAVY = (
    "pandas", "plotly", "matplotlib", "wgpu", "pydantic", "numpy", "rich", "typst", "duckdb",
    "ibis", "pyarrow", "scipy",
)  # fmt: skip


def call(*words: str) -> tuple[int, str]:
    result = CliRunner().invoke(app, list(words))
    assert result.exception is None or isinstance(result.exception, SystemExit)
    return result.exit_code, result.output


def test_help_imports_nothing_heavy() -> None:
    script = (
        "import sys\n"
        "from typer.testing import CliRunner\n"
        "from burnin.cli.app import app\n"
        "import contextlib, io\n"
        "with contextlib.suppress(SystemExit), contextlib.redirect_stdout(io.StringIO()):\n"
        "    app(['--help'])\n"
        f"print([m for m in {HEAVY!r} if m in sys.modules])\n"
    ).replace("from typer.testing import CliRunner\n", "")
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["run"], "which profile?"),
        (["run", "-p", "nonesuch", "--simulated", "healthy"], "no profile named 'nonesuch'"),
        (["run", "-p", "desktop_air", "--simulated", "nonesuch"], "nonesuch"),
        (["run", "-p", "desktop_air", "--simulated", "healthy", "--without", "x"], "--without x"),
        (
            ["run", "-p", "desktop_air", "--simulated", "healthy", "--monitors", "VGA-9"],
            "--monitors VGA-9",
        ),
        (["run", "-p", "desktop_air", "--simulated", "healthy", "--card", "7f:00.0"], "no card at"),
        (["run", "-p", "desktop_air", "--simulated", "healthy", "--ticket", "///"], "ticket"),
        (["run", "--resume", "/nonexistent"], "holds no run.json"),
        (["sheet", "/nonexistent"], "nonexistent"),
        (["replay", "/nonexistent.csv"], "nonexistent"),
        (["profiles", "check", "/nonexistent.toml"], "no profile file"),
    ],
)
def test_wrong_use_ends_in_a_sentence_and_exit_code_2(
    words: list[str], told: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    code, output = call(*words)
    assert code == 2
    assert told in output
    assert "Traceback" not in output


def test_a_run_prints_its_word_and_leaves_a_whole_record(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    code, output = call(
        "run", "-p", "short_x8", "--simulated", "healthy_x8", "--ticket", "/4711 b"
    )
    assert code == 0
    assert "all 6 stages passed" in output
    assert "SIMULATED MACHINE" in output
    [folder] = (tmp_path / "results").glob("*/*")
    assert folder.parent.name == "4711-b"
    assert {
        "run.json",
        "readings.csv",
        "samples.csv",
        "journal.csv",
        "plots.html",
        "sheet.html",
        "sheet.pdf",
        "checksums.sha256",
    } <= {p.name for p in folder.iterdir()}
    subprocess.run(
        ["sha256sum", "--check", "--quiet", "checksums.sha256"], cwd=folder, check=True
    )


def test_events_as_json_lines(tmp_path: Path) -> None:
    code, output = call(
        "run", "-p", "short_x8", "--simulated", "healthy_x8", "--json", "--results", str(tmp_path)
    )
    assert code == 0
    events = [json.loads(line) for line in output.splitlines()]
    assert events[0]["event"] == "RunStarted"
    assert events[-1]["event"] == "RunFinished"
    assert events[-1]["verdict"] == "pass"


def test_events_hold_codes_and_no_sentence(tmp_path: Path) -> None:
    """Every reason, cause, note and prompt is an object with its code."""
    code, output = call(
        "run", "-p", "desktop_air", "--simulated", "fan_stall", "--json", "--results", str(tmp_path)
    )
    assert code == 3
    events = [json.loads(line) for line in output.splitlines()]
    [tripped] = [e for e in events if e["event"] == "GuardTripped"]
    for name in ("reason", "suspect", "check"):
        assert tripped[name]["code"]
    last = events[-1]
    assert last["reason"]["code"].startswith("load_ended")
    assert all(o["what"]["code"] and o["reason"]["code"] for o in last["owed"])
    failed = [e["reading"] for e in events if e["event"] == "ReadingTaken"]
    reasons = [r["reason"] for r in failed if r["reason"] is not None]
    assert reasons
    assert all(isinstance(reason, dict) and reason["code"] for reason in reasons)


@pytest.mark.long
def test_a_run_in_german_says_no_english_sentence(tmp_path: Path) -> None:
    """What the English run says in sentences, the German one says otherwise."""
    said = {}
    for language in ("en", "de"):
        code, said[language] = call(
            "run", "-p", "water_no_loop", "--simulated", "healthy_bench_block", "--seed", "3",
            "--language", language, "--results", str(tmp_path / language),
        )  # fmt: skip
        assert code == 4
    assert "Noch offen:" in said["de"]
    assert "SIMULIERTE MASCHINE" in said["de"]
    english = {line.strip() for line in said["en"].splitlines() if len(line.split()) > 6}
    assert len(english) > 20
    same = [line for line in said["de"].splitlines() if line.strip() in english]
    assert same == []


@pytest.mark.long
def test_the_sheet_is_made_anew_in_a_language(shared_runs: SharedRuns, tmp_path: Path) -> None:
    folder = Path(shutil.copytree(shared_runs.run("healthy_x8", "short_x8").folder, tmp_path / "r"))
    assert call("sheet", str(folder), "--language", "de")[0] == 0
    assert '<html lang="de">' in (folder / "sheet.html").read_text()
    code, output = call("sheet", str(folder), "--language", "xx")
    assert code == 2
    assert "xx" in output


def test_the_format_of_records_is_printed() -> None:
    code, output = call("records", "schema")
    assert code == 0
    assert "run.json" in output
    assert json.loads(output)["$schema"].startswith("https://json-schema.org/")


def test_no_more_room_is_told_in_the_language_of_the_run(tmp_path: Path) -> None:
    """The system lets no file grow beyond 20 kB, as a disk that fills up under way."""
    script = (
        "import resource, sys\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000))\n"
        "from burnin.cli.app import app\n"
        "app(sys.argv[1:])\n"
    )
    words = ["run", "-p", "short_x8", "--simulated", "healthy_x8", "--language", "de"]
    done = subprocess.run(
        [sys.executable, "-c", script, *words, "--results", str(tmp_path)],
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert done.returncode == 2, done.stderr
    assert "kein Platz mehr" in done.stderr
    assert "Traceback" not in done.stderr
    [folder] = tmp_path.glob("*/*")
    assert read_record(folder).run.verdict is RunVerdict.INCOMPLETE


@pytest.mark.long
def test_replay_judges_a_record_under_another_profile(
    shared_runs: SharedRuns, tmp_path: Path
) -> None:
    folder = shared_runs.run("healthy", "desktop_air").folder
    code, output = call("replay", str(folder))
    assert code == 0
    assert [json.loads(line)["action"] for line in output.splitlines()] == ["end"]
    strict = tmp_path / "strict.toml"
    source = Path(__file__).parents[2] / "profiles" / "desktop_air.toml"
    strict.write_text(
        source.read_text()
        .replace("gpu_temp_limit_c = 90.0", "gpu_temp_limit_c = 60.0")
        .replace("gpu_temp_at_most_c = 85.0", "gpu_temp_at_most_c = 55.0")
    )
    code, output = call("replay", str(folder), "--profile", str(strict))
    assert code == 0
    stop, end = [json.loads(line) for line in output.splitlines()]
    assert stop["guard"] in ("forecast", "GPU limit")
    assert end["stopped_at_s"] == stop["time_s"]


def test_lists(tmp_path: Path) -> None:
    code, output = call("profiles", "list", "--json")
    assert code == 0
    assert {"desktop_air", "water_no_loop"} <= {row["name"] for row in json.loads(output)}
    code, output = call("scenarios", "--json")
    assert code == 0
    assert "healthy" in {row["name"] for row in json.loads(output)}
    code, output = call("profiles", "schema")
    assert code == 0
    assert json.loads(output)["title"] == "Profile"


def test_the_help_that_is_kept_as_a_file_is_what_the_commands_print() -> None:
    """After a change of commands: write what is printed here into burnin/cli/help.txt."""
    result = CliRunner().invoke(app, ["--help"], prog_name="burnin")
    assert (Path(burnin.__file__).parent / "cli" / "help.txt").read_text() == result.output


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        ("burnin rep", {"replay"}),
        ("burnin run --profile desktop_a", {"desktop_air", "desktop_all_at_once"}),
        ("burnin run --simulated weak", {"weak_core"}),
    ],
)
def test_the_shell_is_told_what_may_follow(typed: str, found: set[str]) -> None:
    asked = {"_BURNIN_COMPLETE": "complete_bash", "COMP_WORDS": typed}
    count = {"COMP_CWORD": str(len(typed.split()) - 1)}
    told = subprocess.run(
        [sys.executable, "-m", "burnin"], env=os.environ | asked | count, capture_output=True,
        text=True, check=False,
    )  # fmt: skip
    assert set(told.stdout.split()) == found
