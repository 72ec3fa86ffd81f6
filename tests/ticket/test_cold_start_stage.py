"""The stage: the link judged at each start on the simulated machine, over several boots."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from typer.testing import CliRunner

from burnin.card.files import HostFiles
from burnin.cli.app import app
from burnin.core.reading import NotMeasured
from burnin.core.verdict import RunVerdict
from burnin.record.reader import read_record
from burnin.run import resume
from burnin.run.bench import OpenBench, Options, open_bench_for
from burnin.stages.boot import Boot, read_boot

PROFILE = """
format = 1
title = "Cold starts only"
[guards]
gpu_temp_limit_c = 90.0
[[stages]]
stage = "enumeration"
[[stages]]
stage = "cold_starts"
starts = 2
width_lanes = 16
generation = 4
off_at_least_s = 0.0
"""


def run(*words: str) -> tuple[int, str]:
    result = CliRunner().invoke(app, ["run", *words], catch_exceptions=False)
    return result.exit_code, " ".join(result.output.split())


@pytest.fixture
def profile(tmp_path: Path) -> Path:
    """A profile with cold starts only; on the simulated machine no time passes without power."""
    path = tmp_path / "starts.toml"
    path.write_text(PROFILE, "utf-8")
    return path


def begin(profile: Path, results: Path, scenario: str = "healthy") -> tuple[int, str, Path]:
    code, told = run("-p", str(profile), "--simulated", scenario, "--results", str(results))
    return code, told, next(results.glob("*/*/run.json")).parent


def boot_again(monkeypatch: pytest.MonkeyPatch, seed: int) -> None:
    """The simulated machine takes its boot id from its seed; the record's own stays as it was."""

    def opened(options: Options) -> OpenBench:
        return open_bench_for(replace(options, seed=seed))

    monkeypatch.setattr(resume, "open_bench_for", opened)


@pytest.mark.long
def test_a_resumed_run_counts_each_boot_once_and_repeats_nothing_proven(
    profile: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    code, told, folder = begin(profile, tmp_path / "results")
    assert code == 4
    assert "cold start 1 of 2" in told
    assert f"--resume {folder}"[:40] in told
    assert run("--resume", str(folder))[0] == 4  # the same boot is the same start
    boot_again(monkeypatch, 2)
    assert "cold start 2 of 2" in run("--resume", str(folder))[1]
    boot_again(monkeypatch, 3)
    code, _ = run("--resume", str(folder))
    assert code == 0
    record = read_record(folder)
    assert record.run.verdict is RunVerdict.PASS
    started = [entry.stage for entry in record.events("StageStarted")]
    assert started.count("1-enumeration") == 1
    assert started.count("2-cold_starts") == 4


def test_a_link_that_fails_at_one_start_fails_the_stage(profile: Path, tmp_path: Path) -> None:
    code, told, _ = begin(profile, tmp_path / "results", "narrow_link")
    assert code == 1
    assert "the link failed at 1 of 1 starts" in told


def test_the_real_bench_tells_its_boot() -> None:
    found = read_boot(HostFiles())
    assert isinstance(found, Boot)
    assert len(found.boot_id) == 36
    assert found.uptime_s > 0


def test_a_bench_that_does_not_tell_is_not_measured(tmp_path: Path) -> None:
    assert isinstance(read_boot(HostFiles(tmp_path)), NotMeasured)
    kernel = tmp_path / "proc/sys/kernel/random"
    kernel.mkdir(parents=True)
    (kernel / "boot_id").write_text("a\n")
    (tmp_path / "proc/uptime").write_text("soon\n")
    assert isinstance(read_boot(HostFiles(tmp_path)), NotMeasured)
