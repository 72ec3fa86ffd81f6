"""Values of the unpowered card, put on the ticket: all that were given, or none."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from burnin.core.errors import BadInput
from burnin.core.files.bounded import TEXT_BYTES, read_at_most
from burnin.profile.model import Profile
from burnin.ticket.before_power.points import Point, parse_point
from burnin.ticket.before_power.quantity import VOLT, Meter, parse_quantity
from burnin.ticket.log.store import add_all
from burnin.ticket.log.whole_ticket import WholeTicket

CSV_COLUMNS = ("point", "value", "unit", "uncertainty")
_MOST_ROWS = 2000


@dataclass(frozen=True)
class Entry:
    """One value to be taken: point and text as the meter shows it."""

    point: str
    text: str
    where: str = ""


def take(
    ticket: WholeTicket,
    values: Sequence[Entry],
    profile: Profile | None,
    *,
    meter: Meter | None = None,
    file: str = "",
    by: str = "",
    now: datetime | None = None,
) -> WholeTicket:
    """Put values on the ticket: all of them, or none where one is bad (raises BadInput).

    `file` is the name of the file that they came from, empty where somebody typed them.
    """
    if not values:
        raise BadInput("no value given: `burnin measure NUMBER POINT VALUE`, or --from FILE.csv")
    events = []
    seen: set[str] = set()
    for entry in values:
        try:
            point = parse_point(entry.point, profile)
            quantity = parse_quantity(entry.text, point.unit, meter)
            _plausible(point, quantity.value)
            if point.name in seen:
                raise BadInput(f"{point.name} is given twice")
        except BadInput as error:
            raise BadInput(f"{entry.where or entry.point[:40]}: {error}") from error
        seen.add(point.name)
        events.append(
            (
                "measured",
                {
                    "point": point.name,
                    "value": quantity.value,
                    "unit": quantity.unit,
                    "uncertainty": quantity.uncertainty,
                    **({"file": file} if file else {}),
                },
            )
        )
    return add_all(ticket, events, by=by, now=now)


def _plausible(point: Point, value: float | None) -> None:
    if point.unit == VOLT and value is not None and value > 3.5:
        raise BadInput(
            f"{value:g} V is more than diode mode shows: is the card still powered? Unplug it"
        )


def read_csv(path: Path) -> tuple[Entry, ...]:
    """Values from a CSV file with the columns point, value, unit and (optional) uncertainty."""
    try:
        text = read_at_most(path, TEXT_BYTES).decode("utf-8-sig")
    except OSError as error:
        raise BadInput(f"{path}: cannot be read: {error.strerror or error}") from error
    except UnicodeDecodeError as error:
        raise BadInput(f"{path}: is not UTF-8 text (byte {error.start})") from error
    try:
        rows = list(csv.DictReader(io.StringIO(text), strict=True))
    except csv.Error as error:
        raise BadInput(f"{path}: is not CSV: {error}") from error
    header = set(rows[0]) if rows else set()
    if not {"point", "value", "unit"} <= header:
        raise BadInput(f"{path}: needs the columns {', '.join(CSV_COLUMNS)} and at least one row")
    if len(rows) > _MOST_ROWS:
        raise BadInput(f"{path}: {len(rows)} rows; at most {_MOST_ROWS}")
    return tuple(_csv_entry(row, f"{path}, line {n}") for n, row in enumerate(rows, start=2))


def _csv_entry(row: dict[str, str | None], where: str) -> Entry:
    if None in row or None in (row["point"], row["value"], row["unit"]):
        raise BadInput(f"{where}: has {'more' if None in row else 'fewer'} cells than the header")
    value, unit = str(row["value"]).strip(), str(row["unit"]).strip()
    uncertainty = (row.get("uncertainty") or "").strip()
    text = f"{value} {unit}" if value.lower() not in ("ol", "open") else value
    if uncertainty:
        text += f" ± {uncertainty}"
    return Entry(str(row["point"]), text if value else "", where)
