"""What a record's evidence, its ticket and its meter tell of starts and rails, as one look."""

from __future__ import annotations

from collections.abc import Collection

from burnin.diagnosis.evidence import Evidence, Measured
from burnin.diagnosis.point_state import PointSaid, group_of
from burnin.diagnosis.start.explain_start import StartLook

_SIGNALS = ("reset", "clock", "sense")
_EDGE_LANES = 16


def look_at_start(evidence: Evidence, damaged: Collection[str] = ()) -> StartLook:
    """The look; a contact measured at the edge stands against an earlier word on its point."""
    said = {s.point: s for s in evidence.points if group_of(s.point)}
    said |= {m.contact: _said(m) for m in evidence.measured}
    widest = max((look.most_width for look in evidence.looks), default=0)
    return StartLook(
        absent=evidence.absent,
        lost=evidence.lost,
        starts=evidence.starts,
        said=tuple(said.values()),
        damaged=tuple(damaged),
        plug=evidence.plug,
        # A narrower link may be the slot's doing.
        edge_lanes=_EDGE_LANES if widest == _EDGE_LANES else None,
    )


def tells_of_start(look: StartLook) -> bool:
    """Whether anything in it differs from what a card that starts soundly shows."""
    out = any(said.state != "alike" and _of_start(said.point) for said in look.said)
    return look.absent or look.lost or not all(look.starts) or out


def _of_start(point: str) -> bool:
    """Lanes, and grounds among them, are the link's."""
    return group_of(point) not in ("lane_tx", "lane_rx", "ground", "")


def _said(measured: Measured) -> PointSaid:
    """A signal that is clearly out of line lies on ground, most of all."""
    state = measured.state
    if state == "off" and group_of(measured.contact) in _SIGNALS:
        return PointSaid(measured.contact, "low")
    return PointSaid(measured.contact, state)
