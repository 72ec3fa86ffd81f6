"""What a record's own files say against each other: rows against chain, run.json against journal.

Speaks of records with a chain only; an older version of this tool wrote none.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping

from pydantic import TypeAdapter, ValidationError

from burnin.core.events import RunFinished
from burnin.core.meaning import Reason
from burnin.record import csv_rows
from burnin.record.chain import (
    HEADED,
    HEADS,
    UNDER_HEADS,
    WITH_CHAIN,
    against_heads,
    broken,
    chain_of,
    has_chain,
)
from burnin.record.journal import JournalEntry
from burnin.record.reasons import RecordReason
from burnin.record.run_state import disagreements, state_after
from burnin.record.schema.run import RunFile, StageRow
from burnin.record.schema.tables import JOURNAL, MAY_BE_MISSING
from burnin.record.sums import RUN_FILE

FileBytes = Callable[[str], bytes | None]
"""A file of the record by name; None where it is missing."""

_STAGE_ROWS: TypeAdapter[tuple[StageRow, ...]] = TypeAdapter(tuple[StageRow, ...])


def is_chained(read: FileBytes) -> bool:
    """Whether rows carry a chain; where one table's do, those of the others must too.

    A record that was cut before any table had a header has no row that could lack one.
    """
    files = [read(name) for name in WITH_CHAIN]
    return any(map(has_chain, files)) or not any(raw and csv_rows.header(raw) for raw in files)


def stages_told(journal: tuple[JournalEntry, ...]) -> tuple[StageRow, ...]:
    """Stages that began, as a journal tells them; none where it cannot be understood."""
    told = json.dumps(state_after(journal).stages, ensure_ascii=False)
    try:
        return _STAGE_ROWS.validate_json(told.encode("utf-8", "replace"), strict=True)
    except ValidationError:
        return ()


def edited_rows(read: FileBytes, journal: tuple[JournalEntry, ...]) -> tuple[Reason, ...]:
    """Rows that do not follow on those before, and tables that the journal's heads deny."""
    there = (n for n in (*UNDER_HEADS, JOURNAL) if read(n) is not None or n in MAY_BE_MISSING)
    chains = {name: chain_of(name, read(name)) for name in there}
    bare = tuple(
        RecordReason.CHAIN_GONE(file=name)
        for name in WITH_CHAIN
        if csv_rows.header(read(name) or b"") and not has_chain(read(name))
    )
    by_rows = tuple(flaw for name, chain in chains.items() for flaw in broken(name, chain))
    named = {str(flaw["file"]) for flaw in (*bare, *by_rows)}
    if JOURNAL in named:
        return (*bare, *by_rows)  # its heads vouch for nothing any more
    headed = [entry for entry in journal if entry.event in HEADED]
    heads = [entry.detail.get(HEADS) for entry in headed]
    by_heads = against_heads(
        {name: chain for name, chain in chains.items() if name != JOURNAL and name not in named},
        [told for told in heads if isinstance(told, Mapping)],
        closed=bool(headed) and headed[-1].event == RunFinished.__name__,
    )
    return (*bare, *by_rows, *by_heads)


def against_journal(
    read: FileBytes, run: RunFile, journal: tuple[JournalEntry, ...]
) -> tuple[Reason, ...]:
    """Where run.json does not say what the journal tells, or not the profile that it hashes."""
    content = json.loads((read(RUN_FILE) or b"{}").decode("utf-8-sig"))
    lines = read(JOURNAL)
    torn = lines is not None and not lines.endswith(b"\n")
    found = disagreements(content, journal, torn=torn) if lines is not None else ()
    digest = hashlib.sha256(run.profile.text.encode("utf-8", "replace")).hexdigest()
    if digest != run.profile.sha256:
        return (*found, RecordReason.PROFILE_DISAGREES(file=RUN_FILE))
    return found
