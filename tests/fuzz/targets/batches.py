"""Files of several cards: a batch, a night and its queue, a bench with several cards, letters."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

from burnin.cli.night.hours import hours_of
from burnin.cli.night.kept import Night, night_file, read_night, write_night
from burnin.cli.night.queue_file import load_queue
from burnin.core.verdict import RunVerdict, VerdictReason
from burnin.record.batches.batch import Batch, CardOfBatch, batch_file, read_batch, write_batch
from burnin.run.leave.letters import Asks, HasEnded, MustWait, Shows, as_packet, letter_of
from burnin.run.leave.meanings import LeaveReason
from burnin.sim.scenario.several import bench_named, bench_names, cards_of
from tests.fuzz.target import ONE, Files, Target

ROOT = Path(__file__).parents[3]
_NOW = datetime(2026, 3, 2, 22, 0, tzinfo=UTC)
_WHY = LeaveReason.BEHIND(address="0000:02:00.0")


def _batch_seeds(room: Path) -> Sequence[Files]:
    cards = (
        CardOfBatch("0000:01:00.0", "Corvane Silt 4", 1, "4711", "short_x8", record="4711/a",
                    word=RunVerdict.FAIL, why=VerdictReason.NOT_AT_ITS_END(), ended=True),
        CardOfBatch("0000:02:00.0"),
    )  # fmt: skip
    write_batch(room, Batch("b", "2026-03-02T08:00:00.000Z", cards, True, 400.0))
    return [{"b.json": batch_file(room, "b").read_bytes()}]


def _batch(room: Path, given: Files) -> None:
    read_batch(room / "b.json")


def _night_seeds(room: Path) -> Sequence[Files]:
    moment = "2026-03-02T20:00:00.000Z"
    write_night(room, Night("n", "/tonight.toml", moment, moment, "", ("b",)))
    return [{"n.json": night_file(room, "n").read_bytes()}]


def _night(room: Path, given: Files) -> None:
    read_night(room / "n.json")


def _queue_seeds(room: Path) -> Sequence[Files]:
    text = (
        b'from = "20:00"\nuntil = "06:30"\nquiet = ["22:00-05:30"]\n[[cards]]\nticket = "4711"\n'
        b'[[cards]]\ncard = "02:00.0"\nprofile = "desktop_air"\n'
    )
    return [{"q.toml": text}, {"q.toml": b'[[cards]]\ncard = "01:00.0"\n'}]


def _queue(room: Path, given: Files) -> None:
    hours_of(load_queue(room / "q.toml"), _NOW, "Europe/Berlin").not_before(_NOW)


def _bench_seeds(room: Path) -> Sequence[Files]:
    folder = ROOT / "burnin" / "sim" / "benches"
    return [{"b.toml": (folder / f"{name}.toml").read_bytes()} for name in bench_names()]


def _bench(room: Path, given: Files) -> None:
    found = bench_named(str(room / "b.toml"))
    if found is not None:
        cards_of(found)


def _letter_seeds(room: Path) -> Sequence[Files]:
    letters = (
        Asks(1, "2-link", 130.0, 130.0, ["0000:00:01.0"]), MustWait(1, _WHY),
        Shows("link", "", 1, 4, 0, None, 40.0), HasEnded("pass", _WHY),
    )  # fmt: skip
    return [{ONE: as_packet(letter)} for letter in letters]


def _letter(room: Path, given: Files) -> None:
    letter_of(given.get(ONE, b""))


TARGETS = (
    Target("batch_file", _batch_seeds, _batch),
    Target("night_file", _night_seeds, _night),
    Target("night_queue", _queue_seeds, _queue),
    Target("bench_of_several", _bench_seeds, _bench),
    Target("letter", _letter_seeds, _letter, in_room=False),
)
