"""A record as rows of the store, read by the one reader; or why it is kept apart."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from burnin.core.meaning import Reason
from burnin.core.reading import known
from burnin.core.verdict import Ended
from burnin.history.columns import Leaf, as_json, row_of
from burnin.history.meanings import HistoryReason
from burnin.history.pseudonym import Named, without
from burnin.history.tables import (
    EVENTS,
    FAILING_WORDS,
    NOT_READ,
    OWED,
    READINGS,
    RUNS,
    STAGES,
    VALUE_NUMBER,
    Table,
)
from burnin.record.reader import Record
from burnin.record.schema import tables as files
from burnin.record.schema.folders import RUN_FILE

TABLE_OF: Mapping[str, Table] = {
    files.READINGS: READINGS,
    files.NOT_READ: NOT_READ,
    files.JOURNAL: EVENTS,
    files.FAILING_WORDS: FAILING_WORDS,
}
"""Table of the store by the file that it is made from."""
Cells = dict[str, object]


@dataclass(frozen=True)
class RecordRows:
    """A record's rows by table; its samples are written beside the store."""

    run_key: str
    rows: Mapping[str, list[Cells]]


def why_apart(record: Record) -> Reason | None:
    """Why a record must not be counted with the others; None where nothing speaks against it.

    A line that a power cut tore before the run went on is no reason: the run came to its end.
    """
    found = record.condition
    if found.made_up or found.missing or found.cut_short:
        return HistoryReason.FLAWED(flaws=found.flaws)
    if record.run.ended is Ended.NOT_YET or not record.run.ended_utc:
        return HistoryReason.NOT_CLOSED()
    return None


def rows_of_record(record: Record, place: str, named: Named) -> RecordRows:
    """All rows of a record but its samples."""
    key = record.data_sha256
    hide = _hiding(record.run.ticket.customer, named)
    rows: dict[str, list[Cells]] = {RUNS.name: [_run(record, key, hide) | _from(record, place)]}
    of_run = {"run_key": key, **_from(record, place)}
    for table, content in ((STAGES, record.stages), (OWED, record.run.owed)):
        rows[table.name] = _numbered(content, table.leaves, of_run)
    for file, table in TABLE_OF.items():
        start = {"run_key": key, **_from(record, place, file)}
        rows[table.name] = _numbered(record.rows(file), table.leaves, start)
    for reading in rows[READINGS.name]:
        reading[VALUE_NUMBER.name] = _number(reading)
    for event in rows[EVENTS.name]:
        event["detail"] = hide(str(event["detail"] or ""))
    return RecordRows(key, rows)


def _run(record: Record, key: str, hide: Named) -> Cells:
    run = record.run
    cells, untold = row_of(run, RUNS.leaves)
    cells = {k: hide(v) if isinstance(v, str) else v for k, v in cells.items()}
    told = _card_key(record)
    number = run.ticket.number.strip()
    bench = run.bench.get("bench_identity", "")
    return {
        **cells,
        "run_key": key,
        "card_key": told or (f"ticket:{number}" if number else f"run:{run.run_id}"),
        "card_told": bool(told),
        "bench_key": bench if isinstance(bench, str) else "",
        "of_real_card": bool(run.card is not None and not run.is_simulated),
        "format_read": record.format_read,
        "not_measured": as_json(untold),
    }


def _card_key(record: Record) -> str:
    card = record.run.card
    if card is None:
        return ""
    return str(known(card.serial) or known(card.uuid) or "").strip()


def _number(reading: Cells) -> float | None:
    if reading["value_kind"] != "number":
        return None
    try:
        return float(str(reading["value"]))
    except ValueError:
        return None


def _hiding(customer: str, named: Named) -> Named:
    instead = named(customer)
    return lambda text: without(customer, instead, text)


def _from(record: Record, place: str, file: str = RUN_FILE) -> Cells:
    return {"file": f"{place}/{file}", "file_sha256": record.sha256(file)}


def _numbered(content: Iterable[object], leaves: Iterable[Leaf], start: Cells) -> list[Cells]:
    leaves = tuple(leaves)
    return [{**start, "row": n, **row_of(one, leaves)[0]} for n, one in enumerate(content)]
