from __future__ import annotations

import json
from pathlib import Path

import pytest

from burnin.diagnosis.explain import explain
from burnin.diagnosis.outputs import OutputLook, explain_output
from tests.run.driving import run_simulated


def test_a_sound_output_is_nothing_to_explain() -> None:
    assert explain_output(OutputLook("DP-1", True, "sound")) == ()
    assert explain_output(OutputLook("DP-1", True, None)) == ()


@pytest.mark.parametrize(
    ("look", "first", "contacts"),
    [
        # DisplayPort contact 18, HDMI contact 19 are hot-plug detect (pinoutguide.com; KiCad).
        (OutputLook("DP-1", False), "its hot-plug-detect contact", ("dp/18",)),
        (OutputLook("HDMI-A-1", False), "its hot-plug-detect contact", ("hdmi/19",)),
        (OutputLook("DP-1", True, "none"), "its data channel, open", ("dp/15", "dp/17")),
    ],
)
def test_contacts_of_the_output_are_named(
    look: OutputLook, first: str, contacts: tuple[str, ...]
) -> None:
    causes = {cause.what: cause for cause in explain_output(look)}
    assert set(contacts) <= set(causes[first].contacts)
    assert causes[first].probability > 0.2
    assert sum(cause.probability for cause in causes.values()) == pytest.approx(1.0, abs=0.1)


def test_damaged_bytes_do_not_speak_of_hot_plug_detect() -> None:
    causes = {c.what: c.probability for c in explain_output(OutputLook("DP-1", True, "damaged"))}
    assert "its hot-plug-detect contact" not in causes
    assert max(causes, key=lambda what: causes[what]) in (
        "cable or monitor", "its data channel, poor",
    )  # fmt: skip


def test_an_output_of_a_record_is_explained_by_itself(tmp_path: Path) -> None:
    only = frozenset({"memory", "compute", "thermal_ramp"})
    folder = run_simulated("dead_output", "desktop_air", tmp_path, left_out=only).folder
    told = json.loads(explain(folder, [], True))
    assert told["conclusion"] == "explained"
    assert {cause["output"] for cause in told["outputs"]} == {"DP-2"}
    assert "DP-2, by itself" in explain(folder, [], False)


def test_what_failed_elsewhere_is_not_passed_over(tmp_path: Path) -> None:
    only = frozenset({"display", "compute", "thermal_ramp"})
    folder = run_simulated("stuck_memory", "desktop_air", tmp_path, left_out=only).folder
    text = explain(folder, [], False)
    assert "what failed is not it" in text
    assert "failing words" in text
    assert not text.startswith("Nothing to explain")
