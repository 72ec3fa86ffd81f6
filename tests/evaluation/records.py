"""Scenarios as the recordings that `burnin replay` reads."""

from __future__ import annotations

import io
import json

from burnin.replay.recording_file import Recording, open_recording
from tests.evaluation.scenarios import Scenario


def csv_text(scenario: Scenario) -> str:
    """Comment lines with what is known, a header, one row a sample."""
    s = scenario.setting
    lines = [f"# limit_c = {s.limit_c:g}"]
    if s.hotspot_limit_c is not None:
        lines.append(f"# hotspot_limit_c = {s.hotspot_limit_c:g}")
    if s.ambient_c is not None:
        lines.append(f"# ambient_c = {s.ambient_c:g}")
    lines.append(f"# has_fan = {'true' if s.has_fan else 'false'}")
    lines.append(f"# plan = {json.dumps([list(step) for step in s.plan])}")
    columns = [scenario.time_s.round(2), scenario.power_w, scenario.seen_die_c.astype(int)]
    names = ["time_s", "power_w", "gpu_temp_c"]
    if scenario.seen_hotspot_c is not None:
        names.append("hotspot_temp_c")
        columns.append(scenario.seen_hotspot_c.astype(int))
    if scenario.rpm is not None:
        names.append("fan_rpm")
        columns.append(scenario.rpm.astype(int))
    lines.append(",".join(names))
    lines += [",".join(map(str, row)) for row in zip(*(c.tolist() for c in columns), strict=True)]
    return "\n".join(lines) + "\n"


def recording(scenario: Scenario, name: str = "scenario.csv") -> Recording:
    """The scenario as an opened recording."""
    return open_recording(name, io.StringIO(csv_text(scenario)))
