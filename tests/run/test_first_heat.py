"""The first heat that a card meets is small: memory and compute come after the gentle step."""

from __future__ import annotations

from pathlib import Path

import pytest

from burnin.core.reading import known
from burnin.core.verdict import StageVerdict
from burnin.profile.loader import load_profile
from tests.run.driving import run_simulated

GENTLE_W = 160.0
"""Board power; a card of 450 W at a quarter of its work draws less."""
CARDS = {"repaired_desktop": "healthy", "water_loop": "healthy_loop"}


@pytest.mark.parametrize("name", CARDS)
def test_the_ramp_comes_before_long_work(name: str) -> None:
    kinds = [stage.stage for stage in load_profile(name).profile.stages]
    assert kinds.index("thermal_ramp") < min(kinds.index("memory"), kinds.index("compute"))


@pytest.mark.long
@pytest.mark.parametrize("name", CARDS)
def test_a_sound_card_meets_little_power_first_and_passes_what_follows(
    name: str, tmp_path: Path
) -> None:
    """Its first 20 s of heat are below the gentle power, and so is all that came before."""
    left_out = frozenset({"cold_starts"})
    ran = run_simulated(CARDS[name], name, tmp_path, left_out=left_out)
    verdicts = {s.kind: s.verdict for s in ran.outcome.stages}
    assert {verdicts[k] for k in ("thermal_ramp", "memory", "compute")} == {StageVerdict.PASS}
    samples = list(ran.record.samples())
    heated = next(s.elapsed_s for s in samples if s.stage.endswith("thermal_ramp") and s.loaded)
    early = [s for s in samples if s.elapsed_s < heated + 20.0]
    most_w = max(w for s in early if (w := known(s.telemetry.power_w)) is not None)
    assert most_w < GENTLE_W
    later_w = max(w for s in samples if (w := known(s.telemetry.power_w)) is not None)
    assert later_w > 2.0 * GENTLE_W
