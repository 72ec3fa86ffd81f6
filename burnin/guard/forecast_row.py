"""What of a sample the model of the card's heat looks at."""

from __future__ import annotations

from burnin.core.reading import known
from burnin.core.sample import FAN_NAMES, Sample, Telemetry
from burnin.thermal.inputs import Row


def row_of(sample: Sample) -> Row | None:
    """What of a sample matters here; None where temperature or power was not read."""
    t = sample.telemetry
    die_c, power_w = known(t.gpu_temp_c), known(t.power_w)
    if die_c is None or power_w is None:
        return None
    return Row(
        sample.elapsed_s, power_w, die_c, known(t.hotspot_temp_c), _turning(t),
        known(t.energy_j),
    )  # fmt: skip


def _turning(telemetry: Telemetry) -> float | None:
    """The mean speed of the fans that tell theirs, rpm: what moves the air; None: none does."""
    told = [known(getattr(telemetry, rpm)) for rpm, _ in FAN_NAMES]
    speeds = [rpm for rpm in told if rpm is not None]
    return sum(speeds) / len(speeds) if speeds else None
