"""Cards burnt in together: one's fate costs the others nothing, and no watt is given twice."""

from __future__ import annotations

import os
import signal
from collections.abc import Sequence
from pathlib import Path

import pytest

from burnin.core.verdict import EXIT_CODES, RunVerdict
from burnin.record.batches.batch import Batch, CardOfBatch
from burnin.run.batch.budget import Budget
from burnin.run.batch.keeper import Patience
from burnin.run.batch.meanings import BatchNote, BatchReason
from burnin.run.batch.member import Member
from burnin.run.batch.worst import NO_WORD, exit_code
from burnin.run.leave.meanings import LeaveNote, LeaveReason
from tests.run.batch.batches import (
    LONGER,
    PERIOD_S,
    Seen,
    Setting,
    batch_of,
    bench_in,
    drawn_together_w,
    keeper_of,
    late_s,
    most_in_any_second,
    p99,
    profile_in,
    record_of,
)

SOUND = 'scenario = "healthy_x8"'
BADLY_SEATED = 'scenario = "healthy_x8"\n[[cards.causes]]\nkind = "mount"\nresistance_factor = 4.0'
SIXTEENTH = "0000:10:00.0"


class Sends:
    """Sends runs a signal, one each in the order in which they get leave for this kind of stage."""

    def __init__(self, signals: Sequence[int], kind: str, spares: str = "") -> None:
        self._signals, self._kind, self._spares = list(signals), kind, spares
        self.sent: dict[str, int] = {}

    def __call__(self, member: Member) -> None:
        asks = member.asks
        if asks is None or member.waits is not None or not asks.stage.endswith(self._kind):
            return
        if self._signals and member.address not in (*self.sent, self._spares):
            self.sent[member.address] = self._signals.pop(0)
            os.kill(member.pid, self.sent[member.address])


def test_one_that_is_killed_costs_the_others_nothing(tmp_path: Path) -> None:
    """The supply carries one of them at a time: the other one's load begins once it is gone."""
    bench = bench_in(tmp_path, SOUND, SOUND)
    setting = Setting(tmp_path / "results", bench, profile_in(tmp_path), Budget(220.0))
    sends = Sends([signal.SIGKILL], "compute")
    batch = keeper_of(setting, Seen(sends)).run()
    killed, sound = sorted(batch.cards, key=lambda card: card.address not in sends.sent)
    assert killed.word is None
    assert killed.why is not None
    assert killed.why.means(BatchReason.KILLED)
    assert sound.word is RunVerdict.PASS
    assert batch_of(setting) == batch
    assert batch.ended_utc
    assert most_in_any_second(setting) <= 220.0
    assert exit_code(batch) == NO_WORD
    notes = [entry.note() for entry in record_of(setting, sound).journal]
    (given,) = (note for note in notes if note is not None and note.means(LeaveNote.GIVEN))
    assert given["needed_w"] == pytest.approx(1.05 * 130.0)
    assert record_of(setting, killed).run.verdict is RunVerdict.INCOMPLETE


def worded(*words: RunVerdict | None) -> Batch:
    return Batch("b", "", tuple(CardOfBatch(str(n), word=w) for n, w in enumerate(words)))


def test_the_exit_code_is_that_of_the_worst_card() -> None:
    order = [RunVerdict.FAIL, None, RunVerdict.ABORTED, RunVerdict.CONDITIONAL, RunVerdict.PASS]
    codes = [NO_WORD if word is None else EXIT_CODES[word] for word in order]
    for place, code in enumerate(codes):
        assert exit_code(worded(*reversed(order[place:]))) == code
    assert exit_code(worded(RunVerdict.INCOMPLETE, RunVerdict.PASS)) == NO_WORD


@pytest.mark.long
def test_sixteen_cards_of_which_one_dies_one_hangs_and_one_trips(tmp_path: Path) -> None:
    """At the pace of a real bench: every other card passes, sampled in time, within the budget."""
    free = os.getloadavg()[0] < 0.5 * (os.cpu_count() or 1)
    bench = bench_in(tmp_path, f"{SOUND}\ncount = 15", BADLY_SEATED)
    setting = Setting(
        tmp_path / "results", bench, profile_in(tmp_path, LONGER), Budget(1800.0), 1.0,
        Patience(silent_s=20.0),
    )  # fmt: skip
    sends = Sends([signal.SIGKILL, signal.SIGSTOP], "thermal_ramp", spares=SIXTEENTH)
    screen = Seen(sends)
    batch = keeper_of(setting, screen).run()
    *_, tripped = batch.cards
    assert tripped.address == SIXTEENTH
    assert tripped.word is RunVerdict.ABORTED
    fates = {number: a for a, number in sends.sent.items()}
    by_address = {card.address: card for card in batch.cards}
    killed, hung = by_address[fates[signal.SIGKILL]], by_address[fates[signal.SIGSTOP]]
    for card, why in ((killed, BatchReason.KILLED), (hung, BatchReason.SILENT)):
        assert card.word is None
        assert card.why is not None
        assert card.why.means(why)
    assert [note["address"] for note in screen.notes if note.means(BatchNote.HANGS)] == [
        hung.address
    ]
    others = [card for card in batch.cards if card not in (killed, hung, tripped)]
    assert [card.word for card in others] == [RunVerdict.PASS] * 13
    assert most_in_any_second(setting) <= 1800.0
    assert LeaveReason.WATTS_TAKEN.value in set().union(*screen.waits.values())
    worst_s = max(p99(late_s(setting, card)) for card in others)
    print(f"lateness of samples, p99 of the worst of 13 cards: {1000 * worst_s:.1f} ms")
    if free:  # beside other work it says how busy that is
        assert worst_s < 0.5 * PERIOD_S
    assert drawn_together_w(setting, batch) <= 1800.0
