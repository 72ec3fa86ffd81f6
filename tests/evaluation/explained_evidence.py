"""Cases of another hand as the evidence that the tool would have read of such a bench."""

from __future__ import annotations

from typing import Any

from burnin.connector.contact_map import contacts
from burnin.diagnosis.evidence import Evidence, LinkLook, Measured, in_order
from burnin.diagnosis.point_state import PointSaid, group_of, state_of_ohm, state_of_volt

Json = dict[str, Any]


def evidence_of(seen: Json) -> Evidence:
    """Link, starts, and what a meter said; `--after` names plug and its contacts, if anybody."""
    known_good = in_order([_look(look) for look in seen["known_good"]])
    return Evidence(
        in_order([_look(look) for look in seen["looks"]], known_good),
        known_good=known_good,
        measured=tuple(_measured(seen["before_power"])),
        starts=tuple(start["came_up"] for start in seen["cold_starts"]),
        absent=seen["absent"],
        lost=seen["lost"],
        points=tuple(_said(seen["before_power"])),
        plug=_plug(seen),
    )


def _said(readings: list[Json]) -> list[PointSaid]:
    """A point with two modes is told by the one that says more."""
    found = []
    for reading in readings:
        point = reading["point"]
        if not group_of(point):
            continue
        states = []
        if "ohm" in reading:
            states.append(state_of_ohm(point, reading["ohm"]))
        if "volt_diode" in reading:
            states.append(state_of_volt(reading["volt_diode"]))
        worst = [state for state in states if state != "alike"]
        found.append(PointSaid(point, worst[0] if worst else "alike"))
    return found


def _plug(seen: Json) -> str | None:
    plugs = [r["point"].split("/")[0] for r in seen["before_power"] if "/" in r["point"]]
    return plugs[0] if plugs else None


def damaged_of(seen: Json) -> list[str]:
    """Contacts of the edge that the ticket names."""
    named = [*seen["ticket"]["damaged"], *seen["ticket"]["repaired"]]
    return [name for name in dict.fromkeys(named) if name[:1] in "AB" and name[1:].isdigit()]


def _look(look: Json) -> LinkLook:
    most = look["most_generation"]
    target = look["target_generation"]
    return LinkLook(
        stage=look["stage"],
        warm=look["warm"],
        most_width=look["most_width"],
        most_generation=most,
        width=look["width"],
        generation=look["generation"],
        top_generation=look["top_generation"],
        errors=(look["errors"][0], look["errors"][1]),
        lanes=(_lanes(look["lanes_after"][0]), _lanes(look["lanes_after"][1])),
        stuck=(
            _lanes(look["lanes_before"][0]) or frozenset(),
            _lanes(look["lanes_before"][1]) or frozenset(),
        ),
        managed=look["managed"],
        target_generation=None if target is None else min(target, most),
    )


def _lanes(lanes: list[int] | None) -> frozenset[int] | None:
    return None if lanes is None else frozenset(lanes)


def _measured(readings: list[Json]) -> list[Measured]:
    """A reading out of line with its like: side A to its capacitor, grounds to the bracket within
    an ohm (common practice, no source), diode voltages within a sixth of the median."""
    points = [r for r in readings if r["point"][:1] in "AB" and r["point"][1:].isdigit()]
    volts = [r["volt_diode"] for r in points if r.get("volt_diode") is not None]
    middle = sorted(volts)[len(volts) // 2] if volts else None
    found: list[Measured] = []
    for reading in points:
        ohm, volt = reading.get("ohm", 0.0), reading.get("volt_diode", middle)
        contact = contacts()[reading["point"]]
        to_near = contact.group in ("lane_tx", "ground", "power_12v", "power_3v3")
        off = to_near and ohm is not None and ohm > 1.0
        if middle is not None and volt is not None and len(volts) > 2:
            off = off or abs(volt / middle - 1.0) > 1.0 / 6.0
        opened = ohm is None or (volt is None and "volt_diode" in reading)
        found.append(Measured(contact.name, "open" if opened else "off" if off else "alike"))
    return found
