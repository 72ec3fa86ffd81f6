"""Lanes whose error bit rose under traffic; only such a register names a lane (law 12).

A bit says that its lane saw at least one error since it was cleared, not how many. What counters
have counted is judged there; a bit that rose where nothing was counted is unsure.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from burnin.core.meaning import distinct
from burnin.core.reading import NotMeasured, Reading, Verdict, judge, not_measured
from burnin.stages.counters import errors_by_direction
from burnin.stages.link.ends_seen import EndsSeen
from burnin.stages.link.meanings import LinkReason, LinkSource
from burnin.stages.link.sums import Traffic

_NAME = "lanes_with_new_errors"
_WAY_TO = {"card": "to_card", "port": "to_host"}


def lane_readings(seen: EndsSeen, sums: Traffic) -> Iterator[Reading]:
    """The lanes by name; unsure where no counter at that end has told of an error."""
    found = seen.lanes_risen()
    read = {end: lanes for end, lanes in found.items() if not isinstance(lanes, NotMeasured)}
    if not read:
        why = distinct([lanes.reason for lanes in found.values() if isinstance(lanes, NotMeasured)])
        unread = LinkReason.LANE_STATUS_UNREAD(reasons=why)
        yield not_measured(_NAME, "", unread, required=False)
        return
    at = {"card": LinkReason.LANE_AT_CARD, "port": LinkReason.LANE_AT_PORT}
    risen = tuple(at[end](lane=lane) for end, lanes in read.items() for lane in lanes)
    recorded = judge(
        _NAME, float(len(risen)), "", None, source=LinkSource.LANE_STATUS(), required=False
    )
    if not risen:
        yield recorded
        return
    counted = errors_by_direction(sums.errors, sums.broken)
    silent = tuple(
        at[end](lane=lane)
        for end, lanes in read.items()
        for lane in lanes
        if isinstance(events := counted[_WAY_TO[end]], NotMeasured) or events.at_least == 0
    )
    if silent:
        uncounted = LinkReason.LANES_UNCOUNTED(lanes=silent)
        yield replace(recorded, verdict=Verdict.UNSURE, reason=uncounted)
        return
    yield replace(recorded, reason=LinkReason.LANES_ROSE(lanes=risen))
