"""Values of the unpowered card, put on the ticket: all that were given, or none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from burnin.core.errors import BadInput
from burnin.core.meaning import Reason, Value
from burnin.core.quantities.quantity import Meter, Quantity, parse_quantity
from burnin.core.quantities.spelling import VOLT
from burnin.profile.model import Profile
from burnin.ticket.before_power.points import Point, parse_point
from burnin.ticket.before_power.refusals import BeforePowerRefusal
from burnin.ticket.log.store import add_all
from burnin.ticket.log.whole_ticket import WholeTicket


@dataclass(frozen=True)
class Entry:
    """One value to be taken: point and text as the meter shows it; where it stood in a file."""

    point: str
    text: str
    file: str = ""
    line: int = 0


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
        raise BadInput(BeforePowerRefusal.NONE_GIVEN())
    events = []
    seen: set[str] = set()
    for entry in values:
        in_value = False
        try:
            point = parse_point(entry.point, profile)
            if point.name in seen:
                raise BadInput(BeforePowerRefusal.TWICE(point=point.name))
            in_value = True
            quantity = _read(entry, point, meter)
        except BadInput as error:
            raise BadInput(_placed(entry, error.told, in_value=in_value)) from error
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


def quantity_of(entry: Entry, point: Point, meter: Meter | None) -> Quantity:
    """What an entry says, before it is kept; raises BadInput as taking it would."""
    try:
        return _read(entry, point, meter)
    except BadInput as error:
        raise BadInput(_placed(entry, error.told, in_value=True)) from error


def _read(entry: Entry, point: Point, meter: Meter | None) -> Quantity:
    quantity = parse_quantity(entry.text, point.unit, meter)
    _plausible(point, quantity.value)
    return quantity


def _placed(entry: Entry, why: Value, *, in_value: bool) -> Reason:
    """What is wrong with an entry, with the place where it stands."""
    if not entry.file:
        return BeforePowerRefusal.AT_POINT(point=entry.point, why=why)
    code = BeforePowerRefusal.IN_VALUE if in_value else BeforePowerRefusal.IN_LINE
    return code(file=entry.file, line=entry.line, why=why)


def _plausible(point: Point, value: float | None) -> None:
    if point.unit == VOLT and value is not None and value > 3.5:
        raise BadInput(BeforePowerRefusal.OVER_DIODE_MODE(value=value))
