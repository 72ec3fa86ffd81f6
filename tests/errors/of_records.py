"""Profiles, records, recordings, scenarios and reports that cannot be used."""

from __future__ import annotations

import io
import json
from pathlib import Path

from burnin.card.recording.copying import record_bench
from burnin.card.recording.recorded_files import RecordedFiles
from burnin.card.recording.refusals import RecordingRefusal
from burnin.core.meaning import ReasonCode
from burnin.core.system import SystemReason
from burnin.diagnosis.memory_fault.board_file import read_board
from burnin.diagnosis.memory_fault.refusals import BoardRefusal
from burnin.profile.diagnostics import read_toml
from burnin.profile.loader import find_profile, load_profile, profile_of_text
from burnin.profile.refusals import ProfileRefusal
from burnin.record.durable import DurableTable
from burnin.record.event_log import log_of
from burnin.record.reader import Record, read_record
from burnin.record.reasons import RecordRefusal
from burnin.record.run_file import read_run_file
from burnin.replay.case import guards_of_run
from burnin.replay.reasons import ReplayRefusal
from burnin.replay.recording_file import open_recording
from burnin.sim.scenario.model import load_scenario
from burnin.sim.scenario.refusals import ScenarioRefusal
from burnin.ticket.log.store import add
from burnin.ticket.log.ticket_from_log import LOG
from tests.errors.case import Case, each, written
from tests.report import records
from tests.ticket.tickets import ticket

_NOT_TOML = "a = = 1"
_GOOD = Path(load_profile("short_x8").file).read_text("utf-8")
_LIMIT = "gpu_temp_limit_c = 88.0"
_IN_PROFILE: dict[ReasonCode, tuple[str, str]] = {
    ProfileRefusal.FAULTS: ("[guards]", "[guards]\nsong = 1"),
    ProfileRefusal.AT_LINE: ("[guards]", "[guards]\nsong = 1"),
    ProfileRefusal.NO_FIELD: ("[guards]", "[guards]\nsong = 1"),
    ProfileRefusal.IN_FILE: ('title = "Short card, air cooled, 8 lanes"', ""),
    ProfileRefusal.MISSING: ('title = "Short card, air cooled, 8 lanes"', ""),
    ProfileRefusal.GIVEN: (_LIMIT, 'gpu_temp_limit_c = "warm"'),
    ProfileRefusal.A_NUMBER: (_LIMIT, 'gpu_temp_limit_c = "warm"'),
    ProfileRefusal.AT_MOST: (_LIMIT, "gpu_temp_limit_c = 900.0"),
    ProfileRefusal.AT_LEAST: ("outputs = 3", "outputs = -1"),
    ProfileRefusal.ABOVE: ("load_s = 30.0", "load_s = -30.0"),
    ProfileRefusal.ONE_OF: ("width_lanes = 8", "width_lanes = 7"),
    ProfileRefusal.A_WHOLE_NUMBER: ("outputs = 3", 'outputs = "three"'),
    ProfileRefusal.A_TEXT: ('title = "Short card, air cooled, 8 lanes"', "title = 8"),
    ProfileRefusal.A_LIST: ('optional = ["share_of_all_tested"]', "optional = 7"),
    ProfileRefusal.NO_KIND: ('stage = "enumeration"', 'stage = "song"'),
    ProfileRefusal.IN_WHOLE_FILE: ("gpu_temp_at_most_c = 82.0", "gpu_temp_at_most_c = 95.0"),
    ProfileRefusal.RULE: ("gpu_temp_at_most_c = 82.0", "gpu_temp_at_most_c = 95.0"),
}
_SCENARIO = 'name = 7\n'
"""Its name is no text, and all else is missing."""
_HEADS: dict[ReasonCode, str] = {
    ReplayRefusal.HEAD: "# limit_c = 900",
    ReplayRefusal.TEMPERATURE: "# limit_c = 900",
    ReplayRefusal.NO_NUMBER: "# limit_c = warm",
    ReplayRefusal.YES_OR_NO: "# has_fan = perhaps",
    ReplayRefusal.ONE_OF: "# cooling = wind",
    ReplayRefusal.NO_PLAN: "# plan = 300",
    ReplayRefusal.PLAN_BACKWARDS: "# plan = [[30, 300], [0, 150]]",
    ReplayRefusal.PLAN_POWER: "# plan = [[0, 9000]]",
    ReplayRefusal.PLAN_TOO_LONG: f"# plan = {[[n, 1] for n in range(1001)]}",
    ReplayRefusal.NO_HEADER: "",
    ReplayRefusal.COLUMN_TWICE: "time_s,power_w,gpu_temp_c,power_w",
    ReplayRefusal.COLUMN_MISSING: "time_s,power_w",
    ReplayRefusal.LINE_TOO_LONG: "x" * 70_000,
}
_RUN_FILES: dict[ReasonCode, str] = {
    RecordRefusal.NO_OBJECT: "[]",
    RecordRefusal.NO_JSON: "{",
    RecordRefusal.OTHER_FORMAT: '{"format": 99}',
    RecordRefusal.WRONG_FIELDS: '{"format": 2}',
}


def _profile(folder: Path, old: str, new: str) -> object:
    assert old in _GOOD
    text = _GOOD.replace(old, new, 1)
    return load_profile(str(written(folder, "p.toml", text)))


def _deep(folder: Path) -> object:
    return read_toml(written(folder, "p.toml", "a = " + "[" * 100_000))


def _record(folder: Path) -> Path:
    draft = records.passed()
    draft.samples = draft.samples[:2]
    return draft.write(folder / "r")


def _run_file(folder: Path, change: dict[str, object]) -> Record:
    path = _record(folder) / "run.json"
    path.write_text(json.dumps({**json.loads(path.read_text("utf-8")), **change}), "utf-8")
    return read_record(path.parent)


def _line_taken_out(folder: Path) -> object:
    there = add(ticket(folder), "noted", {"text": "x"})
    path = there.folder / LOG
    first, *rest = path.read_bytes().splitlines(keepends=True)
    assert first
    return log_of(b"".join(rest), path.name)


def _many_useless(_: Path) -> object:
    rows = "time_s,power_w,gpu_temp_c\n" + "x\n" * 10_001
    return list(open_recording("a.csv", io.StringIO(rows)).rows())


def _recording(folder: Path, index: dict[str, object]) -> object:
    written(folder, "recording.json", json.dumps(index))
    return RecordedFiles(folder)


CASES = (
    *each(_IN_PROFILE, lambda folder, given: _profile(folder, *given)),
    *each(_HEADS, lambda _, text: open_recording("a.csv", io.StringIO(text))),
    *each(_RUN_FILES, lambda f, text: read_run_file(written(f, "run.json", text).parent)),
    Case(ProfileRefusal.NO_SUCH, lambda _: find_profile("%%%%%%%%%%%%%")),
    Case(ProfileRefusal.NO_SUCH_NEAR, lambda _: find_profile("desktop_aer")),
    Case(ProfileRefusal.NO_FILE, lambda _: find_profile("none.toml")),
    Case(ProfileRefusal.NO_TOML, lambda f: read_toml(written(f, "p.toml", _NOT_TOML))),
    Case(ProfileRefusal.NO_TEXT, lambda f: read_toml(written(f, "p.toml", b"\xff\xff"))),
    Case(ProfileRefusal.TOO_DEEP, _deep),
    Case(ProfileRefusal.NO_TOML, lambda _: profile_of_text("p", "p.toml", _NOT_TOML)),
    Case(BoardRefusal.NO_TOML, lambda f: read_board(written(f, "b.toml", _NOT_TOML))),
    Case(BoardRefusal.FIELD, lambda f: read_board(written(f, "b.toml", "name = 7"))),
    Case(ScenarioRefusal.NO_SUCH, lambda _: load_scenario("%%%%%%%%%%%%%%")),
    Case(ScenarioRefusal.NO_SUCH_NEAR, lambda _: load_scenario("healty")),
    Case(ScenarioRefusal.NO_TOML, lambda f: load_scenario(str(written(f, "s.toml", _NOT_TOML)))),
    Case(ScenarioRefusal.FAULTS, lambda f: load_scenario(str(written(f, "s.toml", _SCENARIO)))),
    Case(ScenarioRefusal.FIELD, lambda f: load_scenario(str(written(f, "s.toml", _SCENARIO)))),
    Case(ScenarioRefusal.FIELD_MISSING, lambda f: load_scenario(str(written(f, "s.toml", "")))),
    Case(
        ScenarioRefusal.FIELD_TABLE,
        lambda f: load_scenario(str(written(f, "s.toml", _SCENARIO + "[title]\na = 1\n"))),
    ),
    Case(RecordRefusal.NO_RUN_FILE, lambda f: read_run_file(f)),
    Case(
        RecordRefusal.CUT_SHORT,
        lambda f: (written(f, "run.json.new", ""), read_run_file(f)),
    ),
    Case(
        RecordRefusal.OTHER_COLUMNS,
        lambda f: DurableTable(written(f, "samples.csv", "a,b\n"), ["a", "c"]),
    ),
    Case(RecordRefusal.LINE_TAKEN_OUT, _line_taken_out),
    Case(RecordRefusal.LINE_CHANGED, lambda _: log_of(b"{}\n{}\n{}\n", "events.jsonl")),
    Case(
        ReplayRefusal.NO_TEXT,
        lambda _: open_recording("a.csv", io.TextIOWrapper(io.BytesIO(b"\xff\n"), "utf-8")),
    ),
    Case(ReplayRefusal.NO_SAMPLES, _many_useless),
    Case(
        ReplayRefusal.NO_GUARDS,
        lambda f: guards_of_run(_run_file(f, {"guards": {"gpu_temp_limit_c": "x"}})),
    ),
    Case(RecordingRefusal.NOT_EMPTY,
         lambda f: (written(f, "x", ""), record_bench(f, ()))),
    Case(RecordingRefusal.NONE, lambda f: RecordedFiles(f)),
    Case(
        RecordingRefusal.OTHER_FORMAT,
        lambda f: _recording(f, {"format": 99, "refused": {}, "nvml": {}}),
    ),
    Case(SystemReason.CANNOT_READ, lambda f: read_board(f)),
)  # fmt: skip
