"""A bench carries one batch at a time, until the last of its runs has ended."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from burnin.core.errors import HeldByAnotherRun
from burnin.run.batch.bench_lock import hold_bench, refuse_beside_batch
from burnin.run.batch.meanings import BatchReason
from burnin.run.batch.process_seen import seen


def free(folder: Path) -> bool:
    try:
        with hold_bench(simulated=False, folders=[folder]):
            return True
    except HeldByAnotherRun as held:
        return not held.reason.means(BatchReason.BENCH_HELD)


def test_it_stays_held_while_a_run_of_a_batch_lives_whose_keeper_is_gone(tmp_path: Path) -> None:
    with hold_bench(simulated=False, folders=[tmp_path]) as handles:
        assert not free(tmp_path)
        run = subprocess.Popen(
            [sys.executable, "-c", "import sys; sys.stdin.read()"],
            stdin=subprocess.PIPE,
            pass_fds=handles,
        )
    assert not free(tmp_path)
    assert run.stdin is not None
    run.stdin.close()
    run.wait()
    assert free(tmp_path)


def test_a_run_of_its_own_is_refused_while_others_share_out_the_power(tmp_path: Path) -> None:
    refuse_beside_batch([tmp_path])
    with hold_bench(simulated=False, folders=[tmp_path]):
        with pytest.raises(HeldByAnotherRun) as refused:
            refuse_beside_batch([tmp_path])
        assert refused.value.reason.means(BatchReason.BUDGET_SHARED)
    refuse_beside_batch([tmp_path])


def test_a_bench_that_cannot_be_held_is_none_for_a_batch(tmp_path: Path) -> None:
    with pytest.raises(HeldByAnotherRun) as refused, hold_bench(
        simulated=False, folders=[tmp_path / "none" / "below"]
    ):
        pass
    assert refused.value.reason.means(BatchReason.BENCH_NOT_HELD)
    with hold_bench(simulated=True) as handles:
        assert handles == ()


def test_a_process_is_gone_when_it_is_dead_and_its_number_may_be_anothers() -> None:
    process = subprocess.Popen(
        [sys.executable, "-c", "import sys; sys.stdin.read()"], stdin=subprocess.PIPE
    )
    there = seen(process.pid)
    assert there is not None
    assert not there.is_gone()
    assert not there.stands_still()
    process.kill()
    while not there.is_gone():  # dead, and nobody has asked how it ended yet
        pass
    process.wait()
    assert process.stdin is not None
    process.stdin.close()
    assert there.is_gone()
    assert seen(0) is None
