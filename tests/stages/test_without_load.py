"""Where nothing may load a card its link is read all the same: width judged, the rest owed."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from burnin.core.reading import Verdict
from burnin.stages.link.meanings import LinkReason
from burnin.stages.registry import stage_kind
from tests.stages import on_bench


def test_the_width_is_judged_and_what_needs_traffic_says_why_it_was_not(tmp_path: Path) -> None:
    kind, reason = stage_kind("link"), LinkReason.NOTHING_MOVED()
    assert kind.without_load is not None
    tell = kind.without_load
    unloaded = replace(kind, carry_out=lambda context, said: tell(context, said, reason))
    context, events = on_bench.carried_out(unloaded, tmp_path)
    found = {reading.name: reading for reading in context.readings}
    assert found["link_width_lanes"].verdict is Verdict.PASS
    speed, errors = found["link_speed_gts"], found["new_link_errors"]
    assert speed.verdict is errors.verdict is Verdict.NOT_MEASURED
    assert speed.required
    assert errors.required
    assert speed.reason == LinkReason.SPEED_NEEDS_TRAFFIC(reason=reason)
    assert not [event for event in events if type(event).__name__ == "TrafficSummed"]
