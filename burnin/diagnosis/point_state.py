"""What a meter's value before power says of a point: as it should be, open, too high, or shorted.

Measured by the points' own kind: a supply rail to ground; supply contacts to the rail behind them,
grounds to the bracket, presence contacts to each other (a wire's resistance each); the reset and
the sense contacts to ground (a pull of some kiloohm); clock contacts in diode mode to ground.
Thresholds are common practice at a bench, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from burnin.connector.contact_map import contacts
from burnin.connector.other_connectors import plug_contacts

PointState = Literal["alike", "open", "off", "low"]


@dataclass(frozen=True)
class PointSaid:
    """A point and what a meter said there before power."""

    point: str
    state: PointState


RAILS = ("supply_12v", "supply_3v3")
"""Measuring points of the supply rails, as a ticket names them."""
_RAIL_SHORT_OHM = 3.0
_WIRE_MOST_OHM = 1.5
"""A sound contact and the meter's leads together stay below this."""
_PULL_LEAST_OHM = 50.0
_DIODE_LEAST_V = 0.1
_WIRES = ("power_12v", "power_3v3", "ground", "presence_detect")


def group_of(point: str) -> str:
    """What a point carries: the group of its contact, ``rail`` for a supply rail, empty if no
    such point is known."""
    if point in RAILS:
        return "rail"
    contact = contacts().get(point) or plug_contacts().get(point)
    return "" if contact is None else contact.group


def state_of_ohm(point: str, ohm: float | None) -> PointState:
    """Of a resistance in ohm, None for an open line; 'alike' where a value says nothing."""
    group = group_of(point)
    if ohm is None:
        return "alike" if group == "rail" else "open"
    if group == "rail":
        return "low" if ohm < _RAIL_SHORT_OHM else "alike"
    if group in _WIRES:
        return "off" if ohm > _WIRE_MOST_OHM else "alike"
    return "low" if ohm < _PULL_LEAST_OHM else "alike"


def state_of_volt(volt: float | None) -> PointState:
    """Of a voltage in diode mode to ground, in V, None for an open line."""
    if volt is None:
        return "open"
    return "low" if volt < _DIODE_LEAST_V else "alike"
