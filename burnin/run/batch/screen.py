"""The seam to whoever shows how a batch does: the terminal's lines, or lines for a machine."""

from __future__ import annotations

from typing import Protocol

from burnin.core.meaning import Note
from burnin.run.batch.member import Member


class Screen(Protocol):
    """Shows how the batch does; nothing here may wait for anybody."""

    def changed(self, member: Member) -> None:
        """Something about a card is new."""
        ...

    def note(self, note: Note) -> None:
        """Something worth a line."""
        ...
