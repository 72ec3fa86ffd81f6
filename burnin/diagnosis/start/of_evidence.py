"""What a record's evidence, its ticket and its meter tell of starts and rails, as one look."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from burnin.diagnosis.evidence import Evidence, Measured
from burnin.diagnosis.start.explain_start import PointSaid, StartLook
from burnin.diagnosis.start.point_state import group_of

_SIGNALS = ("reset", "clock", "sense")
_EDGE_LANES = 16


def look_at_start(
    evidence: Evidence,
    damaged: Collection[str] = (),
    before_power: Sequence[PointSaid] = (),
    plug: str | None = None,
) -> StartLook:
    """The look; what was measured after the record stands against an earlier word on its point.

    `before_power`: what the ticket's values say of their points; `plug` as in `start_faults`.
    """
    said = {s.point: s for s in before_power if group_of(s.point)}
    said |= {m.contact: _said(m) for m in evidence.measured}
    widest = max((look.most_width for look in evidence.looks), default=0)
    return StartLook(
        absent=evidence.absent,
        lost=evidence.lost,
        starts=evidence.starts,
        said=tuple(said.values()),
        damaged=tuple(damaged),
        plug=plug,
        # A narrower link may be the slot's doing.
        edge_lanes=_EDGE_LANES if widest == _EDGE_LANES else None,
    )


def _said(measured: Measured) -> PointSaid:
    """A signal that is clearly out of line lies on ground, most of all."""
    state = measured.state
    if state == "off" and group_of(measured.contact) in _SIGNALS:
        return PointSaid(measured.contact, "low")
    return PointSaid(measured.contact, state)
