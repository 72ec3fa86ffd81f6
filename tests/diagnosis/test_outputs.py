from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.core.errors import BadInput
from burnin.core.verdict import VerdictReason
from burnin.diagnosis.by_hand.measured import after_of
from burnin.diagnosis.evidence import Evidence
from burnin.diagnosis.explain import explain_evidence, explain_record
from burnin.diagnosis.explanation import Answer
from burnin.diagnosis.meanings import ComputeFault, Conclusion, NextCheck, OutputCause
from burnin.diagnosis.memory_fault.meanings import MemoryCause
from burnin.diagnosis.outputs.faults import (
    OutputSuspect,
    explain_outputs,
    next_at_output,
    probability_well,
)
from burnin.diagnosis.outputs.looks import Edid, OtherCable, OutputLook, Picture
from burnin.diagnosis.parts.of_record import PartKind
from burnin.report.explanation import explanation_json, explanation_text
from tests.diagnosis.looks import look as link_look
from tests.refusals import refused
from tests.run.driving import run_simulated


def first(*looks: OutputLook) -> OutputSuspect:
    return explain_outputs(looks)[0]


WELL = OutputLook("DP-2", True, Edid.SOUND, Picture.CLEAN)


def test_a_sound_output_is_nothing_to_explain() -> None:
    for look in (OutputLook("DP-1", True, Edid.SOUND), OutputLook("DP-1", True, None), WELL):
        assert explain_outputs((look,)) == ()
        assert probability_well((look,)) > 0.85
    assert explain_outputs(()) == ()


@pytest.mark.parametrize(
    ("look", "cause", "contacts"),
    [
        # DisplayPort contact 18, HDMI contact 19 are hot-plug detect (pinoutguide.com; KiCad).
        (OutputLook("DP-1", False), OutputCause.HOT_PLUG, {"dp/18"}),
        (OutputLook("HDMI-A-1", False, Edid.SOUND), OutputCause.HOT_PLUG, {"hdmi/19"}),
        (OutputLook("DP-1", True, Edid.NONE), OutputCause.DATA_OPEN, {"dp/15", "dp/17"}),
        (
            OutputLook("DP-1", True, Edid.SOUND, Picture.NONE), OutputCause.PICTURE_LANES,
            {"dp/1", "dp/12"},
        ),
        (
            OutputLook("HDMI-A-1", True, Edid.DAMAGED, Picture.CLEAN, wrong_bits=8),
            OutputCause.DATA_POOR, {"hdmi/15", "hdmi/16"},
        ),
    ],
)  # fmt: skip
def test_contacts_of_the_output_are_named(
    look: OutputLook, cause: OutputCause, contacts: set[str]
) -> None:
    found = first(look, WELL)
    assert found.output == look.name
    assert found.cause.means(cause)
    assert contacts <= set(found.contacts)


def test_another_cable_parts_cable_monitor_and_contact() -> None:
    dark = OutputLook("DP-1", False, Edid.NONE)
    assert first(replace(dark, other_cable=OtherCable.COMES), WELL).cause.means(OutputCause.CABLE)
    stays = explain_outputs((replace(dark, other_cable=OtherCable.STAYS), WELL))
    assert not any(suspect.cause.means(OutputCause.CABLE) for suspect in stays)
    few = OutputLook("DP-1", True, Edid.DAMAGED, Picture.CLEAN, OtherCable.STAYS, wrong_bits=1)
    assert first(few, WELL).cause.means(OutputCause.MONITOR)


def test_a_meter_at_the_connector_decides() -> None:
    dark = OutputLook("DP-1", False, Edid.NONE)
    is_open = replace(dark, open_contacts=frozenset({"dp/17"}))
    found = first(is_open, WELL)
    assert found.cause.means(OutputCause.DATA_OPEN)
    assert found.contacts == ("dp/17",)
    sound = replace(dark, sound_contacts=frozenset({"dp/18"}))
    assert first(sound, WELL).probability < first(dark, WELL).probability


def test_what_all_outputs_share_is_told_once() -> None:
    dark = [OutputLook(name, False) for name in ("DP-1", "DP-2", "HDMI-A-1")]
    (driver,) = explain_outputs(dark)
    assert driver.cause.means(OutputCause.DRIVER)
    assert driver.output == "DP-1, DP-2, HDMI-A-1"
    noisy = [OutputLook(f"DP-{n}", True, Edid.SOUND, Picture.SPARKLES) for n in (1, 2, 3)]
    assert first(*noisy).cause.means(OutputCause.BEHIND)
    hdmi = [OutputLook(f"HDMI-A-{n}", False, Edid.NONE) for n in (1, 2)]
    power = first(*hdmi, WELL)
    assert power.cause.means(OutputCause.SCREEN_POWER)
    assert (power.output, power.contacts) == ("HDMI-A-1, HDMI-A-2", ("hdmi/18",))


def test_damaged_bytes_do_not_speak_of_hot_plug_detect() -> None:
    suspects = explain_outputs((OutputLook("DP-1", True, Edid.DAMAGED), WELL))
    assert suspects
    assert not any(suspect.cause.means(OutputCause.HOT_PLUG) for suspect in suspects)


LOOKS = st.builds(
    OutputLook,
    st.sampled_from(["DP-1", "DP-2", "HDMI-A-1", "DVI-I-1", "Virtual-1"]),
    st.booleans(),
    st.none() | st.sampled_from(Edid), st.none() | st.sampled_from(Picture),
    st.none() | st.sampled_from(OtherCable), st.none() | st.integers(0, 8),
    st.frozensets(st.sampled_from(["dp/18", "dp/15", "hdmi/19"])),
    st.frozensets(st.sampled_from(["dp/1", "hdmi/16"])),
)  # fmt: skip


@given(st.lists(LOOKS, max_size=6, unique_by=lambda look: look.name))
def test_probabilities_stay_probabilities(looks: list[OutputLook]) -> None:
    assert 0.0 <= probability_well(looks) <= 1.0
    for name in {look.name for look in looks}:
        told = [s.probability for s in explain_outputs(looks) if s.output == name]
        assert all(0.0 < p <= 1.0 for p in told)
        assert sum(told) <= 1.0 + 1e-9


def test_steps_follow_what_is_likely() -> None:
    dark = OutputLook("DP-1", False, Edid.NONE)
    step = next_at_output(explain_outputs((dark, WELL)))
    assert step is not None
    assert step.means(NextCheck.SWAP_CABLE)
    stays = replace(dark, other_cable=OtherCable.STAYS)
    step = next_at_output(explain_outputs((stays, WELL)))
    assert step == NextCheck.METER_OUTPUT(contacts=("dp/18",))
    assert next_at_output(()) is None


def test_what_was_tried_at_an_output_is_read_as_typed() -> None:
    evidence = Evidence((), outputs=(OutputLook("DP-2", False), OutputLook("HDMI-A-1", True)))
    after = after_of("dp-2 stays, DP-2 18 open, DP-2 dp/17 alike, HDMI-A-1 19 alike")
    dp, hdmi = after.added_to(evidence).outputs
    assert dp.other_cable is OtherCable.STAYS
    assert dp.open_contacts == {"dp/18"}
    assert dp.sound_contacts == {"dp/17"}
    assert hdmi.sound_contacts == {"hdmi/19"}
    with refused(BadInput, match=r"no.* DP-3|DP-3"):
        after_of("DP-3 stays").added_to(evidence)


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


def test_wrong_results_are_laid_to_chip_supply_or_memory(tmp_path: Path) -> None:
    folder = run_simulated("weak_core", "short_x8", tmp_path, left_out=frozenset({"memory"})).folder
    explanation = explain_record(folder)
    assert explanation.answer is Answer.EXPLAINED
    (part,) = explanation.parts
    assert part.kind is PartKind.COMPUTE
    assert part.causes[0][0].means(ComputeFault.CHIP)
    assert sum(probability for _, probability in part.causes) == pytest.approx(1.0)
    assert "Arithmetic, by itself" in explanation_text(explanation)


def test_what_nothing_explains_is_told_as_such() -> None:
    why = VerdictReason.STAGE_BECAUSE(stage="3-tone", reasons=())
    explanation = explain_evidence(Evidence((link_look(),), elsewhere=(why,)))
    assert explanation.answer is Answer.CANNOT_TELL
    assert explanation.because == Conclusion.NOT_THE_LINK()
    text = explanation_text(explanation)
    assert "what failed is not it" in text
    assert "3-tone" in text


def test_parties_beside_the_card_are_told(tmp_path: Path) -> None:
    only = frozenset({"display", "thermal_ramp", "memory"})
    folder = run_simulated("driver_resets", "desktop_air", tmp_path, left_out=only).folder
    explanation = explain_record(folder)
    assert explanation.answer is Answer.EXPLAINED
    assert explanation.because is not None
    assert explanation.because.means(Conclusion.OTHER_PARTIES)
    assert "most likely first, the driver, the card" in explanation_text(explanation)
