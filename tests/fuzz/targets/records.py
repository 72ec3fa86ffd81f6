"""Records: every file and field, sealed anew or as it lies; read, judged, replayed, explained."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from contextlib import suppress
from functools import cache
from pathlib import Path

from burnin.core.errors import BadInput
from burnin.diagnosis.explain import explain_evidence
from burnin.diagnosis.explanation import Explanation
from burnin.diagnosis.record_evidence import read_evidence
from burnin.profile.loader import load_profile
from burnin.record.chain import beginning
from burnin.record.reader import Record, read_record
from burnin.record.schema.tables import CHAIN, TABLES
from burnin.record.sums import DATA_FILES, SUMS_FILE
from burnin.replay.judging import judge_samples
from burnin.replay.verdicts import judge_anew
from burnin.report.explanation import explanation_json, explanation_text
from burnin.report.languages.catalogue import catalogue
from burnin.report.plots.series import plot_data
from burnin.report.sheet.content import compose
from burnin.report.sheet.page import sheet_page
from burnin.run.begin import options_from
from burnin.run.proven.proof import proof_of, refusals
from burnin.run.resume import profile_of, read_earlier, seconds_since
from burnin.ticket.comparison.comparison import compare_records
from tests.fuzz.target import Files, Target
from tests.fuzz.targets.files import RECORDINGS
from tests.fuzz.targets.logs import NOW
from tests.run.driving import run_simulated

SEAL = "seal"
"""A file of an input that is not laid: whether chain and checksums are made anew over the rest."""
_ROWS = 25
_KEPT = 300
_STAGES = ("memory", "compute", "thermal_ramp")


@cache
def _records() -> tuple[dict[str, bytes], ...]:
    """Small records: one with a chain that a run left just now, real ones, one of format 1."""
    import tempfile

    found = []
    with tempfile.TemporaryDirectory() as place:
        ran = run_simulated("healthy_x8", "short_x8", Path(place), unattended=True)
        found.append(_files_of(ran.folder, thin=False))
        profile = load_profile("short_x8")
        stages = [s.stage for s in profile.profile.stages if s.stage in _STAGES]
        short = run_simulated(
            "healthy_x8",
            "short_x8",
            Path(place) / "again",
            left_out=frozenset(stages),
            unattended=True,
        )
        found.append(_files_of(short.folder))
    found.append(_files_of(RECORDINGS / "records" / "compute_card_link_errors"))
    found.append(_files_of(RECORDINGS / "records" / "compute_card_vulkan"))
    for name in ("failed", "resumed", "hand_made_power_cut", "aborted"):
        found.append(_files_of(RECORDINGS / "format_1_records" / name))
    return tuple(found)


def _files_of(folder: Path, *, thin: bool = True) -> dict[str, bytes]:
    """The files of a record, tables thinned so that an input takes no second."""
    files = {}
    for name in (*DATA_FILES, SUMS_FILE):
        path = folder / name
        if path.exists():
            files[name] = path.read_bytes()
    for name in ("samples.csv", *(("journal.csv",) if thin else ())):
        lines = files[name].split(b"\n")
        step = max(1, len(lines) // _ROWS)
        files[name] = b"\n".join((lines[0], *lines[1:-1:step])) + b"\n"
    return files


def _seeds(room: Path) -> Sequence[Files]:
    return [{**files, SEAL: seal} for files in _records() for seal in (b"", b"1")]


def sealed_record(files: Files) -> dict[str, bytes]:
    """The files with every chain, and the checksums, made anew by somebody who knows how."""
    made = dict(files)
    for name in TABLES:
        raw = made.get(name)
        if raw is None:
            continue
        made[name] = _chained(name, raw)
    lines = [f"{hashlib.sha256(c).hexdigest()}  {n}\n" for n, c in sorted(made.items())]
    return {**made, SUMS_FILE: "".join(lines).encode()}


def _chained(name: str, raw: bytes) -> bytes:
    first, *rows = raw.split(b"\n")
    names = first.decode("utf-8", "replace").split(",")
    if names[-1] != CHAIN:
        return raw
    head, made = beginning(name, names), [first]
    for row in rows[:-1]:
        body = row.rpartition(b",")[0]
        head = head.after(body)
        made.append(body + b"," + head.check.encode())
    return b"\n".join(made) + b"\n"


def _reading(use: Callable[[Record], None]) -> Callable[[Path, Files], None]:
    """A target's reader: lays the record's files, reads it, and uses it."""

    def read(room: Path, given: Files) -> None:
        files = {name: content for name, content in given.items() if name != SEAL}
        if given.get(SEAL):
            files = sealed_record(files)
        folder = room / "r"
        folder.mkdir(exist_ok=True)
        for path in folder.iterdir():
            if path.name not in files:
                path.unlink()
        for name, content in files.items():
            (folder / name).write_bytes(content)
        use(read_record(folder))
        strange = {path.name for path in folder.iterdir()} ^ files.keys()
        assert not strange, f"files written or taken away: {strange}"

    return read


def _all_of(record: Record) -> None:
    """What every reader of a record asks for."""
    assert record.condition.flaws is not None
    for told in (record.planned, record.traffic, record.last_elapsed_s, record.untyped):
        assert told is not None
    judged = judge_anew(record)
    for stage in record.stages:
        judged.why_not_taken_over(stage.stage)
    words = catalogue("en")
    words.say(judged.reason)
    for reading in judged.readings:
        words.say(reading.reason)
        words.reading(reading.name)


def _replayed(record: Record) -> None:
    judge_samples(record)
    judge_samples(record, load_profile("desktop_air"))


_explanations: dict[str, Explanation] = {}


def _explained(record: Record) -> None:
    """Most inputs bear on nothing that an explanation rests on: the same is worked out once."""
    evidence = read_evidence(record.folder)
    written = repr(evidence)
    found = _explanations.get(written) or explain_evidence(evidence)
    if len(_explanations) > _KEPT:
        _explanations.clear()
    _explanations[written] = found
    explanation_text(found, "de")
    explanation_json(found)


def _sheet(record: Record) -> None:
    words = catalogue("de")
    sheet_page(compose(record, words), "<svg/>")
    plot_data(record, words)


def _resumed(record: Record) -> None:
    """What going on with it, proving a bench by it and comparing it read of it."""
    refusals(record, NOW)
    for use in (
        lambda: proof_of(record),
        lambda: compare_records(record.folder, (), record.folder),
        lambda: read_earlier(record),
    ):
        with suppress(BadInput):
            use()
    profile_of(record)
    options_from(record.run.options)
    seconds_since(record.run.started_utc, NOW)


def _target(name: str, use: Callable[[Record], None], inputs: int) -> Target:
    return Target(name, _seeds, _reading(use), inputs, in_room=False)


TARGETS = (
    _target("record", _all_of, 50_000),
    _target("record_replay", _replayed, 50_000),
    _target("record_explain", _explained, 50_000),
    _target("record_sheet", _sheet, 50_000),
    _target("record_resume", _resumed, 50_000),
)
