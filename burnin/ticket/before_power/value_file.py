"""Values out of a file as a spreadsheet or a meter's logger saves it, whatever its settings."""

from __future__ import annotations

import codecs
import csv
import io
from collections.abc import Sequence
from pathlib import Path

from burnin.core.errors import BadInput
from burnin.core.files.bounded import TEXT_BYTES, read_at_most
from burnin.core.system import cannot_read
from burnin.ticket.before_power.refusals import BeforePowerRefusal
from burnin.ticket.before_power.values import Entry

COLUMNS = ("point", "value", "unit", "uncertainty")
_NAMES: dict[str, tuple[str, ...]] = {
    "point": ("point", "test point", "contact", "messpunkt", "punkt", "kontakt"),
    "value": ("value", "reading", "measured", "wert", "messwert", "anzeige"),
    "unit": ("unit", "units", "einheit"),
    "uncertainty": ("uncertainty", "unsicherheit", "±", "+/-"),
}
_SEPARATORS = (";", "\t", ",")
_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_MOST_ROWS = 2000


def read_csv(path: Path) -> tuple[Entry, ...]:
    """Values of a file with a header that names point, value and, if the value does not hold it,
    unit; uncertainty if wished. Separator, coding and order are found. Raises BadInput with the
    line."""
    try:
        data = read_at_most(path, TEXT_BYTES)
    except OSError as error:
        raise BadInput(cannot_read(path, error)) from error
    text = _decoded(data, path).replace("\r\n", "\n").replace("\r", "\n")
    if not text.strip():
        raise BadInput(BeforePowerRefusal.EMPTY(file=str(path), columns=COLUMNS))
    separator, places = _columns(text.split("\n", 1)[0], path)
    rows = csv.reader(io.StringIO(text), delimiter=separator, strict=True)
    entries: list[Entry] = []
    try:
        count = len(next(rows))
        for row in rows:
            if any(cell.strip() for cell in row):
                entries.append(_entry(row, count, places, (path, rows.line_num)))
            if len(entries) > _MOST_ROWS:
                raise BadInput(
                    BeforePowerRefusal.TOO_MANY_ROWS(file=str(path), most_count=_MOST_ROWS)
                )
    except csv.Error as error:
        raise BadInput(
            BeforePowerRefusal.NO_CSV(file=str(path), line=rows.line_num, error=str(error))
        ) from error
    if not entries:
        raise BadInput(BeforePowerRefusal.NO_ROW(file=str(path), columns=COLUMNS))
    return tuple(entries)


def _decoded(data: bytes, path: Path) -> str:
    """By its mark; else UTF-8, and what is none is taken for the code of Western Windows."""
    coding = next((name for mark, name in _MARKS if data.startswith(mark)), "utf-8")
    try:
        return data.decode(coding)
    except UnicodeDecodeError as error:
        if coding != "utf-8" or b"\0" in data:
            raise BadInput(
                BeforePowerRefusal.NO_TEXT(file=str(path), coding=coding, byte=error.start)
            ) from error
        return data.decode("cp1252", errors="replace")


def _columns(header: str, path: Path) -> tuple[str, dict[str, int]]:
    """The separator and where each column is; the separator that shows most of them."""
    best: tuple[str, dict[str, int]] = (",", {})
    for separator in _SEPARATORS:
        try:
            names = next(csv.reader([header], delimiter=separator, strict=True), [])
        except csv.Error:
            continue
        places = _places(names, path)
        if len(places) > len(best[1]):
            best = separator, places
    if not {"point", "value"} <= set(best[1]):
        raise BadInput(BeforePowerRefusal.NO_HEADER(file=str(path), columns=COLUMNS, header=header))
    return best


def _places(names: Sequence[str], path: Path) -> dict[str, int]:
    found: dict[str, int] = {}
    for place, name in enumerate(names):
        plain = name.strip().lower()
        column = next((c for c, known in _NAMES.items() if plain in known), None)
        if column in found:
            raise BadInput(
                BeforePowerRefusal.TWO_COLUMNS(
                    file=str(path),
                    column=column,
                    first=names[found[column]].strip(),
                    second=name.strip(),
                )
            )
        if column is not None:
            found[column] = place
    return found


def _entry(
    row: list[str], count: int, places: dict[str, int], where: tuple[Path, int]
) -> Entry:
    if len(row) != count:
        more = len(row) > count
        why = BeforePowerRefusal.MORE_CELLS() if more else BeforePowerRefusal.FEWER_CELLS()
        raise BadInput(BeforePowerRefusal.IN_LINE(file=str(where[0]), line=where[1], why=why))
    cells = {column: row[place].strip() for column, place in places.items()}
    value, unit = cells["value"], cells.get("unit", "")
    has_digit = any(sign.isdigit() for sign in value[:-1])
    text = f"{value} {unit}" if unit and has_digit and not value.endswith(unit) else value
    if cells.get("uncertainty"):
        text += f" ± {cells['uncertainty']}"
    return Entry(cells["point"], text, file=str(where[0]), line=where[1])
