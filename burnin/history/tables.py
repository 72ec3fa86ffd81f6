"""The tables of the store: what each holds, column by column, and from which model it is made.

Every row says which file it came from and that file's SHA-256. Moments are UTC. A text that a
customer could be known by is left out or replaced (`pseudonym.py`).
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass

from pydantic import BaseModel

from burnin.history.columns import NOT_MEASURED, Column, Kind, Leaf, leaves_of
from burnin.record.schema.run import OwedKeys, RunFile, StageRow
from burnin.record.schema.tables import (
    FailingWordRow,
    JournalRow,
    NotReadRow,
    ReadingRow,
    SampleRow,
)


@dataclass(frozen=True)
class Table:
    """A table; `leaves` are the columns that are made from a model, `columns` are all."""

    name: str
    what: str
    own: tuple[Column, ...]
    leaves: tuple[Leaf, ...] = ()

    @property
    def columns(self) -> tuple[Column, ...]:
        """All columns in their order, where the row is from last."""
        return (*self.own, *(leaf.column for leaf in self.leaves), *FROM)


FROM = (
    Column("file", Kind.TEXT, "the file that the row is from, below the results"),
    Column("file_sha256", Kind.TEXT, "SHA-256 of that file as it was taken in"),
)
RUN_KEY = Column("run_key", Kind.TEXT, "the run: SHA-256 over its record's measured files")
ROW = Column("row", Kind.WHOLE, "place among the rows of its file, counted from 0")
CARD_KEY = Column(
    "card_key", Kind.TEXT, "the one card: its serial number, else its UUID, else its ticket or run"
)
NUMBER = Column("number", Kind.TEXT, "the ticket's number")

LEFT_OUT: Mapping[tuple[str, ...], str] = {
    ("profile", "text"): "the same text in every run of a profile; its SHA-256 is kept",
    ("stages",): "has a table of its own",
    ("owed",): "has a table of its own",
}
"""Fields of run.json without a column of `runs`, and why."""


def _leaves(model: type[BaseModel]) -> tuple[Leaf, ...]:
    return tuple(leaves_of(model, left_out=LEFT_OUT))


def _of_rows(name: str, what: str, model: type[BaseModel]) -> Table:
    return Table(name, what, (RUN_KEY, ROW), _leaves(model))


SOURCES = Table(
    "sources",
    "every file that was looked at, once: taken in, or kept apart and why",
    (
        Column("place", Kind.TEXT, "folder of the record, or of the ticket, below the results"),
        Column("kind", Kind.TEXT, "record or ticket"),
        Column("state", Kind.TEXT, "taken, apart, or same: another folder holds the same record"),
        Column("key", Kind.TEXT, "SHA-256 over the record's measured files, or of the log"),
        Column("stamp", Kind.TEXT, "sizes and times of its files when they were looked at"),
        Column("reason", Kind.TEXT, "code of why it is kept apart"),
        Column("reason_data", Kind.PLAIN, "the reason's data"),
        Column("taken_utc", Kind.MOMENT, "when it was looked at"),
    ),
)
RUNS = Table(
    "runs",
    "a run: what run.json says",
    (
        RUN_KEY,
        CARD_KEY,
        Column("card_told", Kind.TRUTH, "whether the card itself told who it is"),
        Column("bench_key", Kind.TEXT, "the bench: the digest that tells it from others"),
        Column("of_real_card", Kind.TRUTH, "no simulated machine, no software in a card's place"),
        Column("format_read", Kind.WHOLE, "format that the record's files are in"),
        NOT_MEASURED,
    ),
    _leaves(RunFile),
)
STAGES = _of_rows("stages", "a stage of a run that began", StageRow)
OWED = _of_rows("owed", "what a run left to be done", OwedKeys)
VALUE_NUMBER = Column("value_number", Kind.NUMBER, "value where it is a number, in `unit`")
READINGS = Table(
    "readings",
    "a judged or recorded value",
    (RUN_KEY, ROW, VALUE_NUMBER),
    _leaves(ReadingRow),
)
SAMPLES = _of_rows("samples", "telemetry; one Parquet file a run, beside the store", SampleRow)
NOT_READ = _of_rows("not_read", "from when on a column of samples was not read", NotReadRow)
EVENTS = _of_rows("events", "every event of a run but samples, readings and progress", JournalRow)
FAILING_WORDS = _of_rows("failing_words", "a memory word that read back wrong", FailingWordRow)
TICKETS = Table(
    "tickets",
    "a repair",
    (
        NUMBER,
        CARD_KEY,
        Column("card_told", Kind.TRUTH, "whether the card itself told who it is"),
        Column("customer", Kind.TEXT, "a pseudonym, or the name where the shop file says so"),
        Column("card", Kind.TEXT, "the card in the shop's words"),
        Column("serial", Kind.TEXT, "serial number as it was typed"),
        Column("fault", Kind.TEXT, "what the customer says; only where names are kept"),
        Column("profile", Kind.TEXT, "profile of this card"),
        Column("technician", Kind.TEXT, "who works on it"),
        Column("opened_utc", Kind.MOMENT, "when it was opened"),
        Column("closed_utc", Kind.MOMENT, "when it was closed; empty: open"),
        Column("promised_utc", Kind.MOMENT, "the day that was promised"),
        Column("expedited", Kind.TRUTH, "whether it is in a hurry"),
        Column("no_fix", Kind.TRUTH, "whether it was given up"),
        Column("simulated", Kind.TRUTH, "about the simulated machine"),
    ),
)
REPAIRS = Table(
    "repairs",
    "work that was done on a card",
    (
        NUMBER,
        ROW,
        Column("what", Kind.TEXT, "what was done, in the technician's words"),
        Column("by_whom", Kind.TEXT, "who did it"),
        Column("done_utc", Kind.MOMENT, "when"),
        Column("cured_utc", Kind.MOMENT, "when a joint of it is cured"),
    ),
)
CONTACTS = Table(
    "contacts",
    "a contact or area that was seen damaged, or repaired",
    (
        NUMBER,
        ROW,
        Column("place", Kind.TEXT, "a contact such as B14, or an area"),
        Column("damage", Kind.TEXT, "what was seen; empty: repaired"),
        Column("repair_row", Kind.WHOLE, "the repair's place among those of the ticket"),
    ),
)
TICKET_EVENTS = Table(
    "ticket_events",
    "a line of a ticket's log, without what people wrote there",
    (
        NUMBER,
        ROW,
        Column("kind", Kind.TEXT, "what happened"),
        Column("at_utc", Kind.MOMENT, "when"),
        Column("by_whom", Kind.TEXT, "who entered it"),
    ),
)
HANDOVERS = Table(
    "handovers",
    "a card that went back to its customer",
    (
        NUMBER,
        ROW,
        Column("folder", Kind.TEXT, "folder of its sheets"),
        Column("verdict", Kind.TEXT, "as printed on the sheet"),
        Column("fingerprint", Kind.TEXT, "as printed on the sheet"),
        Column("at_utc", Kind.MOMENT, "when"),
    ),
)

OF_RECORD = (RUNS, STAGES, OWED, READINGS, NOT_READ, EVENTS, FAILING_WORDS)
OF_TICKET = (TICKETS, REPAIRS, CONTACTS, TICKET_EVENTS, HANDOVERS)
IN_DATABASE = (SOURCES, *OF_RECORD, *OF_TICKET)
ALL = (*IN_DATABASE, SAMPLES)

CARDS_VIEW = """
CREATE OR REPLACE VIEW cards AS
SELECT card_key, bool_and(of_real_card) AS of_real_card,
  arg_max(card_name, started_utc) AS card_name,
  arg_max(card_vendor_id, started_utc) AS card_vendor_id,
  arg_max(card_device_id, started_utc) AS card_device_id,
  arg_max(card_serial, started_utc) AS card_serial, arg_max(card_uuid, started_utc) AS card_uuid,
  arg_max(card_firmware_version, started_utc) AS card_firmware_version,
  min(started_utc) AS first_seen_utc, max(started_utc) AS last_seen_utc, count(*) AS runs_count,
  arg_max(file, started_utc) AS file, arg_max(file_sha256, started_utc) AS file_sha256
FROM runs WHERE card_told GROUP BY card_key
"""
"""`cards`: one row a card that told who it is, as its newest run has it."""


def layout() -> str:
    """What tells this layout of the store from any other."""
    told = [f"{t.name} {c.name} {c.kind}" for t in ALL for c in t.columns]
    return hashlib.sha256("\n".join((*told, CARDS_VIEW)).encode()).hexdigest()[:16]
