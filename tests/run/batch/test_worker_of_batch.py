"""A worker process in a batch: its keeper knows it, and shares its watts out once it is gone."""

from __future__ import annotations

import signal
import sys
from collections.abc import Sequence
from pathlib import Path

import pytest

from burnin.core.verdict import RunVerdict
from burnin.record.batches.batch import Batch, CardOfBatch
from burnin.run.batch.budget import Budget
from burnin.run.batch.keeper import Keeper
from burnin.run.batch.meanings import BatchReason
from burnin.run.batch.member import Member
from tests.engine.conftest import software_vulkan as software_vulkan
from tests.run.batch.batches import Seen, Setting, bench_in, keeper_of, profile_in
from tests.run.batch.test_batch import SOUND, Sends

pytestmark = [
    pytest.mark.long, pytest.mark.software_vulkan, pytest.mark.usefixtures("software_vulkan")
]  # fmt: skip
ELSEWHERE = "0000:00:00.0"


def on_software(setting: Setting) -> Member:
    """A run whose worker works this computer's processor, seated as a card that rests at 10 W."""

    def command(socket: int) -> Sequence[str]:
        return [
            sys.executable, "-m", "tests.run.batch.card_process", "", "", setting.profile,
            str(setting.results), "0", str(socket),
        ]  # fmt: skip

    return Member(CardOfBatch(ELSEWHERE), command, power_w=10.0)


def test_a_worker_dies_with_its_supervisor_and_its_watts_go_to_the_next(tmp_path: Path) -> None:
    setting = Setting(
        tmp_path / "results", bench_in(tmp_path, SOUND), profile_in(tmp_path),
        Budget(400.0, card_w_at_most=300.0),
    )  # fmt: skip
    sends = Sends([signal.SIGKILL], "compute", spares="0000:01:00.0")
    screen = Seen(sends)
    simulated = keeper_of(setting, screen)
    members = [on_software(setting), *simulated.members]
    cards = tuple(member.card for member in members)
    batch = Keeper(
        Batch("batch", "2026-03-02T08:00:00.000Z", cards), members, setting.results,
        setting.budget, screen,
    ).run()  # fmt: skip
    worked, sound = batch.cards
    assert sends.sent == {ELSEWHERE: signal.SIGKILL}
    assert worked.why is not None
    assert worked.why.means(BatchReason.KILLED)
    assert members[0].workers
    assert not members[0].left_workers()
    assert sound.word is RunVerdict.PASS
