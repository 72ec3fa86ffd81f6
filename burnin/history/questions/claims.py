"""What an answer says of its own findings: how many, of how many compared, how many by chance."""

from __future__ import annotations

from collections.abc import Sequence

from burnin.core.meaning import Note
from burnin.history.meanings import HistoryNote
from burnin.history.statistics.several_tests import SHARE, is_claim


def notes_on_claims(
    q_values: Sequence[float | None], several: bool, least_count: int
) -> list[Note]:
    """How many groups were compared, how many differ, which were too small; nothing for one."""
    if not several:
        return []
    compared = [q for q in q_values if q is not None]
    claims = sum(map(is_claim, compared))
    pct = 100.0 * SHARE
    notes: list[Note] = []
    if claims:
        notes.append(
            HistoryNote.CLAIMS(
                claims_count=claims, compared_count=len(compared), share_pct=pct
            )
        )
    elif compared:
        notes.append(HistoryNote.NO_CLAIM(compared_count=len(compared), share_pct=pct))
    left_out = len(q_values) - len(compared)
    if left_out:
        notes.append(HistoryNote.TOO_FEW(least_count=least_count, left_out_count=left_out))
    return notes
