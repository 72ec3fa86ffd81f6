"""A driver reset, a fault of the GPU and a link-down that only the kernel's log tells: no pass."""

from __future__ import annotations

from pathlib import Path

import pytest
from typer.testing import CliRunner

from burnin.card.kernel_log.meanings import KernelReason
from burnin.cli.app import app
from burnin.core.events import KernelLogged
from burnin.core.verdict import RunVerdict
from burnin.record.reader import read_record
from tests.long import few_short
from tests.run.driving import run_simulated

ONLY_THE_LOG_TELLS = {
    "driver_resets": KernelReason.DRIVER_RESET,
    "gpu_fault": KernelReason.GPU_FAULT,
    "link_bounces": KernelReason.LINK_DOWN,
}


@pytest.mark.parametrize("scenario", few_short(ONLY_THE_LOG_TELLS, {"link_bounces"}))
def test_what_only_the_kernel_s_log_tells_is_no_pass(scenario: str, tmp_path: Path) -> None:
    ran = run_simulated(scenario, "desktop_air", tmp_path)
    assert ran.outcome.verdict is not RunVerdict.PASS
    told = [e for e in ran.events if isinstance(e, KernelLogged)]
    assert any(e.counts and e.reason.means(ONLY_THE_LOG_TELLS[scenario]) for e in told)
    by_name = {r.name: r for r in ran.record.readings}
    reading = by_name["whole_run_kernel_log"]
    assert reading.verdict == "fail"
    assert reading.reason is not None
    assert any(part.means(ONLY_THE_LOG_TELLS[scenario]) for part in reading.reason.parts())
    others = [r.name for r in ran.record.readings if r.verdict == "fail"]
    assert others == ["whole_run_kernel_log"]


@pytest.mark.long
def test_the_command_shows_the_kernel_s_own_line_on_screen_and_in_the_record(
    tmp_path: Path,
) -> None:
    command = ["run", "-p", "desktop_air", "--simulated", "driver_resets", "--monitors", "all"]
    done = CliRunner().invoke(app, [*command, "--results", str(tmp_path)])
    assert done.exit_code != 0
    assert "GPU reset begin!" in " ".join(done.output.split())
    (run,) = tmp_path.glob("*/*/run.json")
    record = read_record(run.parent)
    lines = [str(e.reason()) for e in record.journal if e.event == "KernelLogged"]
    assert any("GPU reset begin!" in line for line in lines)


def test_a_sound_run_heard_the_kernel_and_says_so(tmp_path: Path) -> None:
    ran = run_simulated("healthy_x8", "short_x8", tmp_path)
    assert ran.outcome.verdict is RunVerdict.PASS
    (reading,) = (r for r in ran.record.readings if r.name == "whole_run_kernel_log")
    assert (reading.value, reading.verdict) == (0.0, "pass")
