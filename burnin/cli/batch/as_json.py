"""A batch as JSON lines, for a machine to read: each change of a card, and each note."""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence

from burnin.cli.terminal.output import quiet_output
from burnin.core.meaning import Note
from burnin.core.plain import plain
from burnin.core.verdict import shown
from burnin.record.batches.batch import Batch
from burnin.run.batch.member import Member


class BatchJson:
    """Answers `burnin.run.batch.screen.Screen` on standard output.

    A card's `word` is that of a run on the screen: a simulated one has its own.
    """

    def __init__(self, *, simulated: bool) -> None:
        self._simulated = simulated
        self._said: dict[str, object] = {}

    def show(self, members: Sequence[Member]) -> None:
        """Each card as it begins."""
        for member in members:
            self.changed(member)

    def changed(self, member: Member) -> None:
        """The card with its stage, its wait and its word, where one of them is new."""
        shows, word = member.shows, member.card.word
        told = {
            "word": "" if word is None else shown(word, simulated=self._simulated),
            "simulated": self._simulated,
            "card": plain(member.card),
            "pid": member.pid,
            "stage": shows.kind if shows is not None else "",
            "waits_for": member.waits.code if member.waits is not None else "",
        }
        if self._said.get(member.address) != told:
            self._said[member.address] = told
            _put({"event": "CardOfBatch", **told})

    def note(self, note: Note) -> None:
        """A note as its code with its data."""
        _put({"event": "Noted", "note": plain(note)})

    def pause(self) -> None:
        """Nothing is drawn."""

    def go_on(self) -> None:
        """Nothing is drawn."""

    def close(self) -> None:
        """Standard output is not ours."""


def batch_ended(batch: Batch, file: str, code: int) -> None:
    """The whole batch, where its file lies, and the exit code, on a line."""
    _put({"event": "BatchEnded", "batch": plain(batch), "file": file, "exit_code": code})


def _put(content: dict[str, object]) -> None:
    try:
        sys.stdout.write(f"{json.dumps(content, ensure_ascii=False)}\n")
        sys.stdout.flush()
    except OSError:
        quiet_output()
