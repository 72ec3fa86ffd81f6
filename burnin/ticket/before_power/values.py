"""Values of the unpowered card: taken all or none, judged by profile, known-good card and twin."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from burnin.core.errors import BadInput
from burnin.core.reading import Limit, Reading, Verdict, judge, not_measured
from burnin.profile.model import Profile
from burnin.ticket.before_power.points import Point, Wanted, parse_point, wanted
from burnin.ticket.before_power.quantity import OHM, VOLT, Meter, parse_quantity, quantity_text
from burnin.ticket.store import add_all
from burnin.ticket.whole_ticket import Measured, WholeTicket

CSV_COLUMNS = ("point", "value", "unit", "uncertainty")
OPEN = "open"
KNOWN_GOOD_WITHIN = 0.3
"""Share by which a supply's resistance may differ from a known-good card's; no source."""
KNOWN_GOOD_WITHIN_V = 0.05
"""Most that a diode-mode reading may differ from a known-good card's; no source."""
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
    source: str = "by hand",
    by: str = "",
    now: datetime | None = None,
) -> WholeTicket:
    """Put values on the ticket: all of them, or none where one is bad (raises BadInput)."""
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
                    "source": source,
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
        text = path.read_text(encoding="utf-8-sig")
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


def is_stale(ticket: WholeTicket, want: Wanted, value: Measured) -> bool:
    """Whether the card was worked on since in a way that this value cannot know of."""
    later = [r for r in ticket.repairs if r.time_utc > value.time_utc]
    if want.point.kind == "supply":
        return bool(later)
    touched = {name for r in later for name in (*r.contacts, *(f"ground-{p}" for p in r.patches))}
    return bool(touched & {*want.point.contacts, want.point.name})


def judged(
    profile: Profile | None, ticket: WholeTicket, known_good: WholeTicket | None = None
) -> tuple[Reading, ...]:
    """Every wanted value as a reading, and what a known-good card and the twin say of it."""
    found: list[Reading] = []
    wants = wanted(profile, ticket)
    for want in wants:
        value = ticket.latest(want.point.name)
        found.append(_judge(want, value, ticket))
        if value is not None and not is_stale(ticket, want, value):
            found += _against_twin(want, value, ticket)
    named = {want.point.name for want in wants}
    for point in dict.fromkeys(m.point for m in ticket.measured if m.point not in named):
        value = ticket.latest(point)
        assert value is not None
        found.append(_recorded(value))
    if known_good is not None:
        found += _against_known_good(ticket, known_good)
    return tuple(found)


def _judge(want: Wanted, value: Measured | None, ticket: WholeTicket) -> Reading:
    point = want.point
    if value is None:
        reason = "nobody measured it"
        return not_measured(
            point.name, point.unit, reason, limit=want.limit, required=want.required
        )
    source = f"{value.source}, {value.by}" if value.by else value.source
    if is_stale(ticket, want, value):
        told = quantity_text(value.value, value.unit)
        return not_measured(
            point.name,
            point.unit,
            f"the card was worked on since; before that it was {told}",
            limit=want.limit,
            source=source,
            required=want.required,
        )
    if value.value is None:
        return _judge_open(want, source)
    why = ""
    if value.value < want.short_below_ohm:
        why = f"{quantity_text(value.value, value.unit)}: a short"
    return judge(
        point.name,
        value.value,
        point.unit,
        want.limit,
        uncertainty=value.uncertainty,
        source=source,
        required=want.required,
        why_fail=why,
    )


def _judge_open(want: Wanted, source: str) -> Reading:
    """Over the range: above every value that the meter shows."""
    good = want.limit is None or want.limit.upper is None
    diode = want.point.kind == "diode"
    verdict = Verdict.PASS if good and not diode else Verdict.FAIL
    return Reading(
        want.point.name,
        OPEN,
        want.point.unit,
        limit=want.limit,
        verdict=verdict,
        reason="" if verdict is Verdict.PASS else "open circuit",
        source=source,
        required=want.required,
    )


def _recorded(value: Measured) -> Reading:
    shown: float | str = OPEN if value.value is None else value.value
    return Reading(
        value.point, shown, value.unit, value.uncertainty, source=value.source, required=False
    )


def _against_twin(want: Wanted, value: Measured, ticket: WholeTicket) -> Iterable[Reading]:
    """The sound leg of the same pair must read the same."""
    if not want.twin or want.twin_within_v is None:
        return
    other = ticket.latest(want.twin)
    name = f"{want.point.name} beside {want.twin}"
    limit = Limit(-want.twin_within_v, want.twin_within_v)
    if other is None:
        yield not_measured(name, VOLT, f"nobody measured {want.twin}", limit=limit, required=False)
    elif value.value is not None and other.value is not None:
        both = math.hypot(value.uncertainty, other.uncertainty)
        yield judge(
            name,
            value.value - other.value,
            VOLT,
            limit,
            uncertainty=both,
            source="difference of the two legs",
            required=want.required,
        )


def _against_known_good(ticket: WholeTicket, good: WholeTicket) -> Iterable[Reading]:
    for point in dict.fromkeys(m.point for m in ticket.measured):
        value, other = ticket.latest(point), good.latest(point)
        if value is None or other is None:
            continue
        name = f"{point} beside ticket {good.number}"
        if value.value is None or other.value is None:
            same = (value.value is None) == (other.value is None)
            yield Reading(
                name,
                "same" if same else "differs",
                "",
                allowed=("same",),
                verdict=Verdict.PASS if same else Verdict.FAIL,
                reason="" if same else "open on one card and not on the other",
                required=False,
            )
            continue
        within = KNOWN_GOOD_WITHIN_V if value.unit == VOLT else KNOWN_GOOD_WITHIN * other.value
        both = math.hypot(value.uncertainty, other.uncertainty)
        yield judge(
            name,
            value.value - other.value,
            value.unit,
            Limit(-within, within),
            uncertainty=both,
            source=f"difference to the known-good card of ticket {good.number}",
            required=False,
        )


def shorts(profile: Profile | None, ticket: WholeTicket) -> tuple[tuple[Wanted, Measured], ...]:
    """Points whose newest value is a short, whether or not the card was worked on since.

    A repair does not take a short away: a new value does.
    """
    found = []
    for want in wanted(profile, ticket):
        value = ticket.latest(want.point.name)
        if (
            value is not None
            and value.unit == OHM
            and value.value is not None
            and value.value < want.short_below_ohm
        ):
            found.append((want, value))
    return tuple(found)
