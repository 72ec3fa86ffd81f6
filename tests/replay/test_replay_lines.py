"""`replay`: what it prints for a recording, a stream, many files and bad input."""

from __future__ import annotations

import io
import json
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from burnin.cli.replay_lines import replay
from burnin.cli.replay_plot import draw_replay
from burnin.core.errors import BadInput
from burnin.core.sample import Sample
from burnin.profile.loader import load_profile
from burnin.replay.case import case_of_recording
from burnin.replay.judging import Judging
from burnin.replay.recording_file import BadRow, open_recording
from burnin.thermal.states import CooledBy
from tests.refusals import refused
from tests.thermal.cards import DRY, LOOP_LIKE, OneBlock

STEPS = ((3.0, 150.0), (40.0, 300.0), (80.0, 420.0))
HEAD = (
    "# limit_c = 90\n# ambient_c = 24\n# has_fan = false\n"
    "# plan = [[3, 150], [40, 300], [80, 420]]\n"
)
COMMAND = (
    "import sys; from burnin.cli.replay_lines import replay; "
    "sys.exit(replay(['-'], None, True, sys.stdout))"
)


def text_of(card: OneBlock, until_s: float, head: str = HEAD) -> str:
    rows = [f"{r.time_s:g},{r.power_w:g},{r.die_c:g}" for r in card.rows(STEPS, until_s)]
    return head + "time_s,power_w,gpu_temp_c\n" + "\n".join(rows) + "\n"


def run(*files: Path, as_json: bool = True, profile: str | None = None) -> tuple[int, str, str]:
    out, err = io.StringIO(), io.StringIO()
    code = replay([str(f) for f in files], profile, as_json, out, err)
    return code, out.getvalue(), err.getvalue()


def written(folder: Path, name: str, text: str) -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def test_a_stop_and_an_end_with_the_stated_keys(tmp_path: Path) -> None:
    file = written(tmp_path, "dry.csv", text_of(DRY, 90.0))
    code, out, err = run(file)
    stop, end = (json.loads(line) for line in out.splitlines())
    assert (code, err) == (0, "")
    assert list(stop) == ["file", "action", "time_s", "guard", "reason", "probability"]
    assert (stop["file"], stop["action"], stop["guard"]) == (str(file), "stop", "forecast")
    crossing_s = DRY.crossing_s(STEPS, 90.0)
    assert crossing_s - 10.0 < stop["time_s"] < crossing_s - 1.0
    assert 0.0 < stop["probability"] <= 1.0
    assert list(end)[:4] == ["file", "action", "cooling", "resistance_k_per_w"]
    assert list(end)[4:] == ["warnings", "forecasts"]
    assert end["action"] == "end"
    assert sum(end["cooling"]["probabilities"].values()) == pytest.approx(1.0, abs=1e-3)
    mount = end["resistance_k_per_w"]["die_to_block"]
    assert mount["low"] <= DRY.mount_k_per_w <= mount["high"]


def test_a_sound_card_gets_only_its_end(tmp_path: Path) -> None:
    code, out, _ = run(written(tmp_path, "loop.csv", text_of(LOOP_LIKE, 130.0)))
    (end,) = (json.loads(line) for line in out.splitlines())
    assert code == 0
    assert end["cooling"]["state"] == "healthy loop"


def test_sentences_where_no_json_is_asked(tmp_path: Path) -> None:
    _, out, _ = run(written(tmp_path, "dry.csv", text_of(DRY, 90.0)), as_json=False)
    assert "stop at" in out
    assert "suspected" in out
    assert "{" not in out


@pytest.mark.parametrize("missing", ["time_s", "power_w", "gpu_temp_c"])
def test_a_needed_column_that_is_missing_is_an_error(tmp_path: Path, missing: str) -> None:
    names = [n for n in ("time_s", "power_w", "gpu_temp_c") if n != missing]
    code, out, err = run(written(tmp_path, "bad.csv", ",".join(names) + "\n1,2\n"))
    assert (code, out) == (2, "")
    assert missing in err
    assert "line 1" in err


def test_one_bad_file_does_not_keep_the_others_from_their_verdict(tmp_path: Path) -> None:
    good = written(tmp_path, "good.csv", text_of(LOOP_LIKE, 20.0))
    code, out, err = run(tmp_path / "none.csv", good)
    assert code == 2
    assert json.loads(out)["file"] == str(good)
    assert "none.csv" in err


def test_a_bad_row_is_named_with_its_line_and_skipped(tmp_path: Path) -> None:
    lines = text_of(DRY, 90.0).splitlines()
    clean = run(written(tmp_path, "a.csv", "\n".join(lines) + "\n"))[1]
    lines[60:60] = ["six,150,40", "5.55", "5.55,150,nan", "1,150,40", ""]
    code, out, err = run(written(tmp_path, "b.csv", "\n".join(lines) + "\n"))
    assert code == 0
    assert [f"line {n} skipped" in err for n in (60, 61, 62, 63, 64, 65)] == [
        False, True, True, True, True, False,
    ]  # fmt: skip
    assert json.loads(out.splitlines()[0])["time_s"] == json.loads(clean.splitlines()[0])["time_s"]


def test_a_temperature_that_stays_away_stops_as_stale(tmp_path: Path) -> None:
    lines = text_of(LOOP_LIKE, 12.0).splitlines()
    lines += [f"{12 + k / 10:.1f},150," for k in range(100)]
    _, out, _ = run(written(tmp_path, "stale.csv", "\n".join(lines) + "\n"))
    stop = json.loads(out.splitlines()[0])
    assert stop["guard"] == "stale data"
    assert 16.0 < stop["time_s"] < 19.0


def test_a_temperature_that_does_not_answer_to_power_stops_as_stale(tmp_path: Path) -> None:
    lines = ["time_s,power_w,gpu_temp_c"]
    lines += [f"{k / 10:.1f},{20 if k < 50 else 200},30" for k in range(300)]
    _, out, _ = run(written(tmp_path, "stuck.csv", "\n".join(lines) + "\n"))
    stop = json.loads(out.splitlines()[0])
    assert stop["guard"] == "stale data"
    assert 13.0 < stop["time_s"] < 14.5


def test_a_card_already_at_its_limit_is_stopped_by_the_simple_guard(tmp_path: Path) -> None:
    text = "# limit_c = 60\ntime_s,power_w,gpu_temp_c\n0,20,62\n0.1,20,62\n"
    _, out, _ = run(written(tmp_path, "hot.csv", text))
    stop = json.loads(out.splitlines()[0])
    assert (stop["action"], stop["guard"], stop["probability"]) == ("stop", "GPU limit", None)


def test_many_files_over_cores_say_what_each_says_alone_in_order(tmp_path: Path) -> None:
    files = [
        written(tmp_path, f"{i}.csv", text_of(DRY if i % 2 else LOOP_LIKE, 45.0 + i))
        for i in range(6)
    ]
    together = run(*files)[1]
    alone = "".join(run(f)[1] for f in files)
    assert together == alone


def test_a_stream_is_decided_row_by_row_before_the_next_is_given(tmp_path: Path) -> None:
    text = text_of(DRY, 90.0)
    recorded = run(written(tmp_path, "dry.csv", text))[1]
    process = subprocess.Popen(
        [sys.executable, "-c", COMMAND], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    assert process.stdin is not None
    assert process.stdout is not None
    head = text.index("gpu_temp_c\n") + len("gpu_temp_c\n")
    process.stdin.write(text[:head])
    said: dict[str, object] = {}
    for line in text[head:].splitlines():
        process.stdin.write(line + "\n")
        process.stdin.flush()
        said = json.loads(process.stdout.readline())
        assert said["time_s"] == float(line.split(",")[0])
        if said["action"] == "stop":
            break
        assert said["action"] == "go"
    process.stdin.close()
    end = json.loads(process.stdout.read())
    process.stdout.close()
    assert process.wait() == 0
    assert said["time_s"] == json.loads(recorded.splitlines()[0])["time_s"]
    assert end["action"] == "end"
    assert end["file"] == "-"


@pytest.mark.parametrize(
    "comment",
    [
        "# limit_c = warm",
        "# limit_c = 4000",
        "# has_fan = perhaps",
        "# cooling = oil",
        "# plan = [[30, 100], [0, 50]]",
        "# plan = [[0, -3]]",
        "# plan = 150",
        "# plan = []",
        "# plan = [[0, 1e999]]",
    ],
)
def test_a_setting_that_cannot_be_used_is_an_error_with_its_line(comment: str) -> None:
    with refused(BadInput, match="line 2"):
        open_recording("x.csv", io.StringIO(f"# a remark\n{comment}\ntime_s,power_w,gpu_temp_c\n"))


def test_settings_columns_and_empty_cells_are_read() -> None:
    text = (
        "# limit_c = 88.5\n# hotspot_limit_c=104\n# ambient_c = 21\n# has_fan = true\n# note\n"
        "# plan = [[0, 150], [30, 300]]\n"
        "fan_rpm,gpu_temp_c,time_s,power_w,hotspot_temp_c,extra\n900,40,0,100,51,x\n,41,1,100,,y\n"
    )
    record = open_recording("x.csv", io.StringIO(text))
    assert record.known.limit_c == 88.5
    assert record.known.hotspot_limit_c == 104.0
    assert record.known.ambient_c == 21.0
    assert record.known.has_fan is True
    assert record.known.plan == ((0.0, 150.0), (30.0, 300.0))
    first, second = record.rows()
    assert isinstance(first, Sample)
    assert isinstance(second, Sample)
    assert first.telemetry.hotspot_temp_c == 51.0
    assert first.telemetry.fan_rpm == 900.0
    assert not second.telemetry.hotspot_temp_c
    assert second.telemetry.gpu_temp_c == 41.0


def cooled(head: str, profile: str | None = None) -> CooledBy | None:
    text = f"{head}time_s,power_w,gpu_temp_c\n0,100,40\n"
    recording = open_recording("x.csv", io.StringIO(text))
    settings = None if profile is None else load_profile(profile).profile.guards
    forecast = Judging(case_of_recording(recording, settings)).guards.forecast
    assert forecast is not None
    return forecast.watch.cooled_by


def test_what_cools_the_card_is_said_by_the_record_else_by_the_profile() -> None:
    assert cooled("") is None
    assert cooled("# has_fan = true\n") is CooledBy.FANS
    assert cooled("# has_fan = false\n") is CooledBy.WATER
    assert cooled("# cooling = stream\n") is CooledBy.STREAM
    assert cooled('# has_fan = false\n# cooling = "Stream"\n') is CooledBy.STREAM
    assert cooled("", "passive_compute") is CooledBy.STREAM
    assert cooled("", "water_loop") is CooledBy.WATER
    assert cooled("# cooling = fans\n", "water_loop") is CooledBy.FANS


def test_a_counter_a_trailing_mean_and_a_stage_are_taken_where_a_record_has_them() -> None:
    text = (
        "power_average_w,stage,gpu_temp_c,elapsed_s,energy_j\n"
        "100,memory,40,0,7.5\n110,compute,41,1,\n120,compute,42,2,n/a\n"
    )
    first, second, third = open_recording("x.csv", io.StringIO(text)).rows()
    assert isinstance(first, Sample)
    assert isinstance(second, Sample)
    assert isinstance(third, Sample)
    assert (first.telemetry.power_w, first.telemetry.energy_j) == (100.0, 7.5)
    assert (first.stage, third.stage) == ("memory", "compute")
    assert not second.telemetry.energy_j
    assert not third.telemetry.energy_j
    both = "power_average_w,gpu_temp_c,time_s,power_w\n100,40,0,130\n"
    (row,) = open_recording("x.csv", io.StringIO(both)).rows()
    assert isinstance(row, Sample)
    assert row.telemetry.power_w == 130.0


@settings(max_examples=150, deadline=None)
@given(text=st.text(alphabet="0123456789.,-+einf#=[] \n\"'abt_swpgucm", max_size=300))
def test_any_text_gives_rows_bad_rows_or_an_error(text: str) -> None:
    header = "time_s,power_w,gpu_temp_c,fan_rpm\n"
    for whole in (text, header + text):
        try:
            rows = list(open_recording("x.csv", io.StringIO(whole)).rows())
        except BadInput:
            continue
        times = [r.elapsed_s for r in rows if isinstance(r, Sample)]
        assert times == sorted(set(times))
        assert all(isinstance(r, Sample | BadRow) for r in rows)


def test_bytes_that_are_not_text_are_an_error(tmp_path: Path) -> None:
    path = tmp_path / "bytes.csv"
    path.write_bytes(b"time_s,power_w,gpu_temp_c\n0,1,\xff\xfe\n")
    code, _, err = run(path)
    assert code == 2
    assert "bytes.csv" in err


def test_no_file_is_wrong_use() -> None:
    assert run()[0] == 2


def test_a_profile_brings_the_limits_that_the_record_does_not_name(tmp_path: Path) -> None:
    bare = text_of(DRY, 60.0, head="# has_fan = false\n")
    code, out, _ = run(written(tmp_path, "p.csv", bare), profile="water_no_loop")
    assert code == 0
    assert json.loads(out.splitlines()[-1])["action"] == "end"
    code, _, err = run(written(tmp_path, "p.csv", bare), profile="no such profile")
    assert code == 2
    assert err


def test_warnings_are_lines_among_sentences_and_stand_at_the_end_in_json(tmp_path: Path) -> None:
    file = written(tmp_path, "dry.csv", text_of(DRY, 90.0))
    said = run(file, as_json=False)[1].splitlines()
    warned, stopped, over, _ = said
    assert warned.startswith(f"{file}: warning at ")
    assert stopped.startswith(f"{file}: stop at ")
    assert over.startswith(f"{file}: ")
    stop, end = (json.loads(line) for line in run(file)[1].splitlines())
    given, ended = end["warnings"]
    assert [given["event"], ended["event"]] == ["WarningGiven", "WarningOver"]
    assert given["cause"]["code"].startswith("cooling_cause_")
    assert 0.5 <= given["probability"] <= 1.0
    assert given["time_s"] < stop["time_s"] <= ended["time_s"]
    assert [kept["ahead_s"] for kept in end["forecasts"]] == [10.0, 30.0]


def test_a_drawing_is_of_one_file(tmp_path: Path) -> None:
    file = written(tmp_path, "dry.csv", text_of(DRY, 60.0))
    target = tmp_path / "dry.svg"
    draw_replay([str(file)], None, target, "en")
    assert target.read_text(encoding="utf-8").startswith("<?xml")
    for files in ([str(file), str(file)], ["-"]):
        with refused(BadInput, match="one"):
            draw_replay(files, None, target, "en")
