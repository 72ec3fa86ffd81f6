"""A case of another hand as what its bench told of starts and rails."""

from __future__ import annotations

from typing import Any

from burnin.diagnosis.start.explain_start import PointSaid, StartLook
from burnin.diagnosis.start.point_state import group_of, state_of_ohm, state_of_volt
from tests.evaluation.explained_evidence import damaged_of

Json = dict[str, Any]


def start_look_of(seen: Json) -> StartLook:
    """Starts, readings, ticket, and what the supply steps tell of sense lines."""
    supply = seen["supply"]
    steps = supply["steps"] if supply else []
    limit_w = supply["limit_w"] if supply else None
    held = [step["power_w"] for step in steps if "power limit" in step["throttle"]]
    return StartLook(
        absent=seen["absent"],
        lost=seen["lost"],
        starts=tuple(start["came_up"] for start in seen["cold_starts"]),
        said=tuple(_said(seen["before_power"])),
        damaged=tuple(damaged_of(seen)),
        plug=_plug(seen),
        edge_lanes=_edge(seen),
        sensed_w=supply["sensed_limit_w"] if supply else None,
        asked_w=min(limit_w, max(step["asked_w"] for step in steps)) if steps else None,
        held_w=max(held, default=None),
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
    if seen["supply"]:
        return str(seen["supply"]["plug"])
    plugs = [r["point"].split("/")[0] for r in seen["before_power"] if "/" in r["point"]]
    return plugs[0] if plugs else None


def _edge(seen: Json) -> int | None:
    """A link of sixteen lanes has an edge of sixteen; a narrower one may be the slot's doing."""
    return 16 if any(look["most_width"] == 16 for look in seen["looks"]) else None
