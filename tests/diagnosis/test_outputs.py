from __future__ import annotations

import json
from pathlib import Path

import pytest

from burnin.diagnosis.explain import explain_record
from burnin.diagnosis.explanation import Answer
from burnin.diagnosis.meanings import Conclusion, OutputCause
from burnin.diagnosis.memory_fault.meanings import MemoryCause
from burnin.diagnosis.outputs import Edid, OutputLook, explain_output
from burnin.diagnosis.parts import PartKind
from burnin.report.explanation import explanation_json, explanation_text
from tests.run.driving import run_simulated


def test_a_sound_output_is_nothing_to_explain() -> None:
    assert explain_output(OutputLook("DP-1", True, Edid.SOUND)) == ()
    assert explain_output(OutputLook("DP-1", True, None)) == ()


@pytest.mark.parametrize(
    ("look", "first", "contacts"),
    [
        # DisplayPort contact 18, HDMI contact 19 are hot-plug detect (pinoutguide.com; KiCad).
        (OutputLook("DP-1", False), OutputCause.HOT_PLUG, ("dp/18",)),
        (OutputLook("HDMI-A-1", False), OutputCause.HOT_PLUG, ("hdmi/19",)),
        (OutputLook("DP-1", True, Edid.NONE), OutputCause.DATA_OPEN, ("dp/15", "dp/17")),
    ],
)
def test_contacts_of_the_output_are_named(
    look: OutputLook, first: OutputCause, contacts: tuple[str, ...]
) -> None:
    causes = {suspect.cause.code: suspect for suspect in explain_output(look)}
    assert set(contacts) <= set(causes[first.value].contacts)
    assert causes[first.value].probability > 0.2
    assert sum(cause.probability for cause in causes.values()) == pytest.approx(1.0, abs=0.1)


def test_damaged_bytes_do_not_speak_of_hot_plug_detect() -> None:
    suspects = explain_output(OutputLook("DP-1", True, Edid.DAMAGED))
    assert suspects
    assert not any(suspect.cause.means(OutputCause.HOT_PLUG) for suspect in suspects)
    most = max(suspects, key=lambda suspect: suspect.probability)
    assert most.cause.means(OutputCause.CABLE_OR_MONITOR, OutputCause.DATA_POOR)


def test_an_output_of_a_record_is_explained_by_itself(tmp_path: Path) -> None:
    only = frozenset({"memory", "compute", "thermal_ramp"})
    folder = run_simulated("dead_output", "desktop_air", tmp_path, left_out=only).folder
    explanation = explain_record(folder)
    told = json.loads(explanation_json(explanation))
    assert told["conclusion"] == "explained"
    assert {cause["output"] for cause in told["outputs"]} == {"DP-2"}
    assert "DP-2, by itself" in explanation_text(explanation)
    assert "DP-2, für sich" in explanation_text(explanation, "de")


def test_what_failed_elsewhere_is_not_passed_over(tmp_path: Path) -> None:
    only = frozenset({"display", "compute", "thermal_ramp"})
    folder = run_simulated("stuck_memory", "desktop_air", tmp_path, left_out=only).folder
    explanation = explain_record(folder)
    assert explanation.answer is Answer.EXPLAINED
    (memory,) = explanation.parts
    assert (memory.kind, memory.stages) == (PartKind.MEMORY, ("4-memory",))
    assert memory.causes[0][0].means(MemoryCause.CELLS)
    assert memory.causes[0][1] > 0.8
    assert explanation.evidence.elsewhere == ()
    assert json.loads(explanation_json(explanation))["parts"][0]["part"] == "memory"
    assert explanation_text(explanation).splitlines()[1].startswith("Not the link. Memory:")
    german = explanation_text(explanation, "de")
    assert german.splitlines()[1].startswith("Nicht die Verbindung. Speicher:")


def test_what_nothing_explains_is_told_as_such(tmp_path: Path) -> None:
    folder = run_simulated(
        "weak_core", "short_x8", tmp_path, left_out=frozenset({"memory"})
    ).folder
    explanation = explain_record(folder)
    assert explanation.answer is Answer.CANNOT_TELL
    assert explanation.because == Conclusion.NOT_THE_LINK()
    assert "compute" in str(explanation.evidence.elsewhere[0]["stage"])
    text = explanation_text(explanation)
    assert "what failed is not it" in text
    assert not text.startswith("Nothing to explain")
