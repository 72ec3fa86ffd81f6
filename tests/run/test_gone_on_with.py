"""What a resume takes over and what it refuses: failed rows, harmed tables, another card."""

from __future__ import annotations

import io
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from burnin.cli.replay_lines import replay
from burnin.core.errors import BadInput
from burnin.core.events import Event, ReadingTaken, StageStarted
from burnin.core.reading import Verdict
from burnin.core.verdict import RunVerdict, StageVerdict
from burnin.record.reader import read_record
from burnin.replay.verdicts import judge_anew
from burnin.run.resume import plan_again
from tests.refusals import refused
from tests.run.cut_runs import cut_run, gone_on, put_scenario

NO_SCREEN = {
    "kind": "output", "output": "DP-2", "contact": "hot_plug_detect", "state": "open",
}  # fmt: skip


@pytest.fixture
def scenario(tmp_path: Path) -> Path:
    file = tmp_path / "card.toml"
    put_scenario(file)
    return file


def display_failed(event: Event) -> bool:
    return isinstance(event, ReadingTaken) and event.reading.verdict is Verdict.FAIL


def compute_began(event: Event) -> bool:
    return isinstance(event, StageStarted) and event.kind == "compute"


def test_a_row_that_failed_in_the_stage_that_a_cut_ended_stays_failed(
    scenario: Path, tmp_path: Path
) -> None:
    """The cable was moved before the run went on; it found the screen missing all the same."""
    put_scenario(scenario, NO_SCREEN)
    folder = cut_run(scenario, tmp_path / "results", display_failed)
    [failed] = [r for r in read_record(folder).all_readings if r.verdict is Verdict.FAIL]
    assert failed.name == "screen_detected DP-2"
    put_scenario(scenario)
    result = gone_on(folder)
    assert result.exit_code == 1, result.output
    record = read_record(folder)
    assert record.run.verdict is RunVerdict.FAIL
    display = next(stage for stage in record.stages if stage.kind == "display")
    assert display.verdict is StageVerdict.FAIL
    assert failed in record.readings_of(display.stage)
    assert judge_anew(record).verdict is RunVerdict.FAIL


def test_the_same_run_without_the_failed_row_passes(scenario: Path, tmp_path: Path) -> None:
    folder = cut_run(scenario, tmp_path / "results", compute_began)
    result = gone_on(folder)
    assert result.exit_code == 0, result.output


def test_a_run_does_not_go_on_with_a_card_of_another_serial_number(
    scenario: Path, tmp_path: Path
) -> None:
    put_scenario(scenario, serial="5f-a7-00-09-00-00-12-34")
    folder = cut_run(scenario, tmp_path / "results", compute_began)
    before = {path: path.read_bytes() for path in folder.iterdir()}
    put_scenario(scenario, serial="5f-a7-00-09-00-00-12-35")
    with refused(BadInput, match="5fa7000900001234"):
        plan_again(folder)
    result = gone_on(folder)
    assert result.exit_code == 2, result.output
    assert "5fa7000900001234" in result.output
    assert {path: path.read_bytes() for path in folder.iterdir()} == before


@pytest.fixture(scope="module")
def cut_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A run that was cut when its last stage began; nobody changes it."""
    room = tmp_path_factory.mktemp("cut")
    put_scenario(room / "card.toml")
    return cut_run(room / "card.toml", room / "results", compute_began)


@pytest.fixture(scope="module")
def passed_once(cut_once: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The same gone on with to its pass, without checksums, as one that was never signed."""
    folder = tmp_path_factory.mktemp("passed") / cut_once.name
    shutil.copytree(cut_once, folder)
    assert gone_on(folder).exit_code == 0
    for name in ("checksums.sha256", "signature.json"):
        (folder / name).unlink(missing_ok=True)
    return folder


def copy_of(folder: Path, room: Path) -> Path:
    return Path(shutil.copytree(folder, room / folder.name))


Harm = Callable[[Path], None]


def gone(folder: Path) -> None:
    (folder / "readings.csv").unlink()


def with_a_hole(folder: Path) -> None:
    """One row of the middle is taken out; every other stands as it was written."""
    lines = (folder / "readings.csv").read_bytes().splitlines(keepends=True)
    assert len(lines) > 6
    (folder / "readings.csv").write_bytes(b"".join(lines[:3] + lines[4:]))


def cut_off(folder: Path) -> None:
    """Whole rows at the end are gone, as no power cut takes them: the journal has counted them."""
    lines = (folder / "readings.csv").read_bytes().splitlines(keepends=True)
    (folder / "readings.csv").write_bytes(b"".join(lines[:3]))


def one_byte(folder: Path) -> None:
    """One digit of one value is another; nothing is torn, every row has its length."""
    text = (folder / "readings.csv").read_bytes()
    place = text.index(b",connected,")
    changed = text[: place + 1] + b"C" + text[place + 2 :]
    assert len(changed) == len(text)
    (folder / "readings.csv").write_bytes(changed)


HARMS = [gone, with_a_hole, cut_off, one_byte]


@pytest.mark.parametrize("harm", HARMS)
def test_a_run_does_not_go_on_in_a_record_whose_readings_were_harmed(
    harm: Harm, cut_once: Path, tmp_path: Path
) -> None:
    folder = copy_of(cut_once, tmp_path)
    harm(folder)
    result = gone_on(folder)
    assert result.exit_code == 2, result.output
    assert "readings.csv" in result.output
    run = read_record(folder).run
    assert (run.verdict, run.resumed) == (RunVerdict.INCOMPLETE, 0)


@pytest.mark.parametrize("harm", HARMS)
def test_a_passing_record_whose_readings_were_harmed_is_a_pass_for_nobody(
    harm: Harm, passed_once: Path, tmp_path: Path
) -> None:
    folder = copy_of(passed_once, tmp_path)
    sound = judge_anew(read_record(folder))
    assert (sound.verdict, sound.unsound) == (RunVerdict.PASS, ())
    harm(folder)
    record = read_record(folder)
    judged = judge_anew(record)
    assert judged.unsound
    assert not any(judged.holds(stage.stage) for stage in record.stages)
    assert not record.condition.whole


@pytest.mark.parametrize("table", [None, "readings.csv", "samples.csv", "journal.csv"])
def test_replay_of_a_record_that_lacks_a_table_says_which_and_is_no_success(
    table: str | None, passed_once: Path, tmp_path: Path
) -> None:
    """Without its samples no guard has seen anything: that must not look like a quiet run."""
    folder = copy_of(passed_once, tmp_path)
    if table is not None:
        (folder / table).unlink()
    out, err = io.StringIO(), io.StringIO()
    code = replay([str(folder)], None, True, out, err)
    assert code == (0 if table is None else 2)
    assert (table or "") in err.getvalue()
    assert bool(err.getvalue()) == (table is not None)


@pytest.mark.parametrize("harm", HARMS)
def test_replay_says_of_samples_what_it_said_and_of_edited_readings_that_they_are(
    harm: Harm, passed_once: Path, tmp_path: Path
) -> None:
    """Guards look at samples: readings neither stop a load nor change what guards say of it."""
    folder = copy_of(passed_once, tmp_path)

    def told() -> tuple[int, str, str]:
        out, err = io.StringIO(), io.StringIO()
        return replay([str(folder)], None, True, out, err), out.getvalue(), err.getvalue()

    sound = told()
    assert (sound[0], sound[2]) == (0, "")
    harm(folder)
    found, lines, flaws = told()
    assert found == 2
    assert lines == sound[1]
    assert "readings.csv" in flaws
