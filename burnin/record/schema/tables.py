"""Columns of a record's tables, in their order: name, unit, meaning, allowed values.

A cell that is empty means that there is no such value; it never means zero. Columns that are not
here are passed over.
"""

from __future__ import annotations

from enum import StrEnum
from typing import get_args

from pydantic import BaseModel, ConfigDict, Field

from burnin.core.events import Event, ReadingTaken, SampleTaken, StageProgress
from burnin.core.reading import Verdict
from burnin.core.sample import SampleFlaw, Slowdown


class Row(BaseModel):
    """One line of a table; cells are text, empty ones are left out before this sees them."""

    model_config = ConfigDict(frozen=True, extra="ignore", use_attribute_docstrings=True)


CHAIN = "chain"
"""Last column of a table whose rows carry a check over themselves and all before (`chain.py`)."""


SIMULATED = "SIMULATED"
"""Column of every table of a simulated run, empty in each row: the file says so by itself."""


class ValueKind(StrEnum):
    """What the value of a reading is."""

    NUMBER = "number"
    WORD = "word"


_ELSEWHERE = (SampleTaken, ReadingTaken, StageProgress)
KEPT_EVENTS = tuple(kind.__name__ for kind in get_args(Event) if kind not in _ELSEWHERE)
"""Classes of events that the journal holds; a newer tool may add some."""


class ReadingRow(Row):
    """readings.csv: every judged or recorded value, one a line."""

    time_utc: str = ""
    """when it was judged"""
    elapsed_s: float | None = Field(default=None, json_schema_extra={"unit": "s"})
    """when it was judged"""
    stage: str = ""
    """such as `3-link`"""
    reading: str
    """its name, such as `link_width_lanes` or `edid DP-1`"""
    value: str = ""
    """number or word; empty: not measured"""
    value_kind: ValueKind | None = None
    """what the value is; empty: not measured"""
    unit: str = ""
    """unit of value, uncertainty and limits; empty for counts, shares (0 to 1) and words"""
    uncertainty: float = Field(default=0.0, json_schema_extra={"unit": "`unit`"})
    """expanded uncertainty U, coverage factor 2; 0 for a count"""
    lower_limit: float | None = Field(default=None, json_schema_extra={"unit": "`unit`"})
    """least that is permitted, itself included; empty: that side is open"""
    upper_limit: float | None = Field(default=None, json_schema_extra={"unit": "`unit`"})
    """most that is permitted, itself included; empty: that side is open"""
    allowed: str = ""
    """permitted words, parted by ` | `"""
    verdict: Verdict | None = None
    """empty: recorded and judged by nothing"""
    required: bool = True
    """whether the run stays conditional without it"""
    reason: str = ""
    """code of why it is not a pass"""
    reason_data: str = ""
    """the reason's data as JSON"""
    source: str = ""
    """code of where the value is from"""
    source_data: str = ""
    """the source's data as JSON"""
    rule: str = ""
    """code of the rule that judged it; empty: judged by nothing, or before rules were told"""
    rule_data: str = ""
    """the rule's data as JSON"""
    chain: str = ""
    """check over this row and all before it, the first 16 hexadecimal digits of a SHA-256"""


class SampleRow(Row):
    """samples.csv: telemetry over time, one sample a line."""

    elapsed_s: float = Field(allow_inf_nan=False, json_schema_extra={"unit": "s"})
    """when it was taken"""
    time_utc: str = ""
    """when it was taken"""
    stage: str = ""
    """during which stage"""
    load_share: float = Field(default=0.0, json_schema_extra={"unit": "1"})
    """share of full work that was asked for, 0 to 1"""
    load_w: float | None = Field(default=None, json_schema_extra={"unit": "W"})
    """power that was asked for, where power is held"""
    read_s: float = Field(default=0.0, json_schema_extra={"unit": "s"})
    """how long reading took"""
    present: bool = True
    """whether the card answered"""
    gpu_temp_c: float | None = Field(default=None, json_schema_extra={"unit": "°C"})
    """temperature of the GPU"""
    hotspot_temp_c: float | None = Field(default=None, json_schema_extra={"unit": "°C"})
    """temperature of its hottest spot"""
    memory_temp_c: float | None = Field(default=None, json_schema_extra={"unit": "°C"})
    """temperature of the memory"""
    power_w: float | None = Field(default=None, json_schema_extra={"unit": "W"})
    """power drawn"""
    energy_j: float | None = Field(default=None, json_schema_extra={"unit": "J"})
    """the card's energy counter, of which only differences count"""
    core_clock_mhz: float | None = Field(default=None, json_schema_extra={"unit": "MHz"})
    """clock of the GPU"""
    memory_clock_mhz: float | None = Field(default=None, json_schema_extra={"unit": "MHz"})
    """clock of the memory"""
    busy_pct: float | None = Field(default=None, json_schema_extra={"unit": "%"})
    """share of time in which the card worked"""
    fan_rpm: float | None = Field(default=None, json_schema_extra={"unit": "1/min"})
    """speed of the first fan"""
    fan_pct: float | None = Field(default=None, json_schema_extra={"unit": "%"})
    """setting of the first fan"""
    link_speed_gts: float | None = Field(default=None, json_schema_extra={"unit": "GT/s"})
    """line rate of the link as trained at that moment"""
    link_width_lanes: float | None = Field(default=None, json_schema_extra={"unit": "lanes"})
    """width of the link as trained at that moment"""
    throttle_reasons: str = Field(default="", json_schema_extra={"known": [*Slowdown]})
    """why the card slowed itself down, several parted by `; `"""
    period_s: float | None = Field(default=None, json_schema_extra={"unit": "s"})
    """time since the sample before; empty: the first, or an older record"""
    late_s: float | None = Field(default=None, json_schema_extra={"unit": "s"})
    """by how much it came after it was due; empty: due at no time, or an older record"""
    flaws: str = Field(default="", json_schema_extra={"known": [*SampleFlaw]})
    """what is wrong with the row, several parted by `; `; why a cell is empty: not_read.csv"""
    fan2_rpm: float | None = Field(default=None, json_schema_extra={"unit": "1/min"})
    """speed of fan 2"""
    fan2_pct: float | None = Field(default=None, json_schema_extra={"unit": "%"})
    """setting of fan 2"""
    fan3_rpm: float | None = Field(default=None, json_schema_extra={"unit": "1/min"})
    """speed of fan 3"""
    fan3_pct: float | None = Field(default=None, json_schema_extra={"unit": "%"})
    """setting of fan 3"""
    fan4_rpm: float | None = Field(default=None, json_schema_extra={"unit": "1/min"})
    """speed of fan 4"""
    fan4_pct: float | None = Field(default=None, json_schema_extra={"unit": "%"})
    """setting of fan 4"""
    chain: str = ""
    """check over this row and all before it, the first 16 hexadecimal digits of a SHA-256"""


class NotReadRow(Row):
    """not_read.csv: from when on a column of samples.csv could not be read, and why.

    A line where the reason of a value changes; an empty reason: it is read again.
    """

    elapsed_s: float = Field(allow_inf_nan=False, json_schema_extra={"unit": "s"})
    """from this sample on"""
    time_utc: str = ""
    """from this sample on"""
    stage: str = ""
    """during which stage"""
    column: str
    """column of samples.csv"""
    reason: str = ""
    """code of why it is not read; empty: it is read again"""
    reason_data: str = ""
    """the reason's data as JSON"""
    chain: str = ""
    """check over this row and all before it, the first 16 hexadecimal digits of a SHA-256"""


class JournalRow(Row):
    """journal.csv: every event of the run but its samples, readings and progress."""

    elapsed_s: float = Field(allow_inf_nan=False, json_schema_extra={"unit": "s"})
    """when it happened"""
    time_utc: str = ""
    """when it happened"""
    event: str = Field(json_schema_extra={"known": [*KEPT_EVENTS]})
    """class of the event, such as `StageStarted`; a resumed run has a further `RunStarted`"""
    stage: str = ""
    """during which stage"""
    detail: str = ""
    """the event's own fields as JSON on one line"""
    chain: str = ""
    """check over this row and all before it, the first 16 hexadecimal digits of a SHA-256"""


class FailingWordRow(Row):
    """failing_words.csv: memory words that read back wrong, as many as are listed."""

    address_bytes: str = Field(json_schema_extra={"unit": "bytes"})
    """from the start of the tested area, hexadecimal"""
    expected: str = ""
    """the 32-bit word as written, hexadecimal"""
    got: str = ""
    """as read back, hexadecimal"""
    flipped_bits: str = ""
    """mask of the bits that differ, hexadecimal"""
    pattern: str = ""
    """the pattern that was written"""
    step: str = ""
    """its step, counted from 0"""
    pass_: str = Field(default="", alias="pass")
    """the pass, counted from 0"""


READINGS, SAMPLES, NOT_READ = "readings.csv", "samples.csv", "not_read.csv"
JOURNAL, FAILING_WORDS = "journal.csv", "failing_words.csv"

TABLES: dict[str, type[Row]] = {
    READINGS: ReadingRow,
    SAMPLES: SampleRow,
    NOT_READ: NotReadRow,
    JOURNAL: JournalRow,
    FAILING_WORDS: FailingWordRow,
}
"""Model of a line of each table by file name."""

MAY_BE_MISSING = (NOT_READ, FAILING_WORDS)
"""Tables that a run may have had no line for."""


def columns(row: type[Row]) -> tuple[str, ...]:
    """Names of a table's columns, in their order; the check of a row comes last."""
    names = [field.alias or name for name, field in row.model_fields.items()]
    return (*(n for n in names if n != CHAIN), *(n for n in names if n == CHAIN))
