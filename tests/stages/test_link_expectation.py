"""What is expected of a link: the lesser of card, slot, set-up, what the slot gave, and profile."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from burnin.core.meaning import Reason
from burnin.core.reading import Reading, Verdict
from burnin.record.reader import Record
from burnin.report.languages.catalogue import catalogue
from burnin.stages.link.meanings import LinkNote, LinkReason, LinkSource
from tests.run.driving import run_simulated
from tests.run.known_good import link_alone

CARD = '[card]\ncooling = "air"\n'


def run(tmp_path: Path, bench: str, card: str = "", lanes: int = 16, generation: int = 4) -> Record:
    path = tmp_path / "drawn.toml"
    path.write_text(f'name = "drawn"\ntitle = "Drawn"\n[bench]\n{bench}\n{CARD}{card}\n')
    return run_simulated(str(path), link_alone(lanes, generation), tmp_path).record


def reading(record: Record, name: str) -> Reading:
    return next(r for r in record.readings if r.name == name)


def least(record: Record, name: str) -> float | None:
    limit = reading(record, name).limit
    assert limit is not None
    return limit.lower


def not_shown(record: Record) -> Reason:
    """Why the full link was not shown; the missing part of it."""
    found = reading(record, "full_link_shown")
    assert found.verdict is Verdict.NOT_MEASURED
    assert found.required
    assert found.reason is not None
    for language in ("en", "de"):
        assert "{" not in catalogue(language).say(found.reason)
    missing = found.reason["missing"]
    assert isinstance(missing, Reason) or hasattr(missing, "means")
    return missing  # type: ignore[return-value]  # read back as a plain meaning


def test_a_sound_slot_gives_no_less_than_the_profile_asks(tmp_path: Path) -> None:
    record = run(tmp_path, "")
    assert not [r for r in record.readings if r.name == "full_link_shown"]
    assert (least(record, "link_width_lanes"), least(record, "link_speed_gts")) == (16.0, 16.0)
    assert reading(record, "port_target_speed_gts").value == 16.0


def test_a_port_that_the_set_up_holds_is_named_and_laid_to_the_set_up(tmp_path: Path) -> None:
    record = run(tmp_path, "held_generation = 3")
    why = not_shown(record)
    assert why.means(LinkReason.SPEED_HELD)
    assert (why["held_gts"], why["told_gts"]) == (8.0, 16.0)
    assert reading(record, "link_speed_gts").verdict is Verdict.PASS
    assert reading(record, "port_target_speed_gts").value == 8.0
    assert record.run.verdict.value == "conditional"
    assert "set-up" in catalogue("en").say(record.run.reason)


def test_a_hold_does_not_hide_that_the_link_fell_below_it(tmp_path: Path) -> None:
    causes = "".join(
        f'[[causes]]\nkind = "contact"\ncontact = "{leg}"\nstate = "resistive"\nohms = 180.0\n'
        for leg in ("B54", "B55")
    )
    record = run(tmp_path, "held_generation = 3", causes)
    assert not_shown(record).means(LinkReason.SPEED_HELD)
    assert reading(record, "link_speed_gts").verdict is Verdict.FAIL


def test_eight_lanes_wired_on_a_proven_bench_are_the_slots(tmp_path: Path) -> None:
    record = run(tmp_path, "slot_width_lanes = 8\nport_width_lanes = 16\nbench_proven = true")
    why = not_shown(record)
    assert why.means(LinkReason.LANES_SLOT_GAVE)
    assert (why["offered_lanes"], why["told_lanes"]) == (8, 16)
    assert reading(record, "link_width_lanes").verdict is Verdict.PASS
    assert record.run.verdict.value == "conditional"


def test_eight_lanes_wired_on_an_unproven_bench_are_not_laid_to_the_card(tmp_path: Path) -> None:
    record = run(tmp_path, "slot_width_lanes = 8\nport_width_lanes = 16")
    assert reading(record, "link_width_lanes").verdict is Verdict.FAIL
    assert record.run.verdict.value == "conditional"


def test_fewer_lanes_still_than_the_slot_gave_are_a_fault(tmp_path: Path) -> None:
    causes = '[[causes]]\nkind = "contact"\ncontact = "B33"\nstate = "open"\n'
    bench = "slot_width_lanes = 8\nport_width_lanes = 16\nbench_proven = true"
    record = run(tmp_path, bench, causes)
    assert least(record, "link_width_lanes") == 8.0
    assert reading(record, "link_width_lanes").value == 4.0
    assert record.run.verdict.value == "fail"


def test_a_port_that_tells_fewer_lanes_is_the_slots(tmp_path: Path) -> None:
    assert not_shown(run(tmp_path, "slot_width_lanes = 4")).means(LinkReason.LANES_OF_SLOT)


def test_where_ports_beside_it_may_have_its_lanes_they_are_named(tmp_path: Path) -> None:
    why = not_shown(run(tmp_path, "slot_width_lanes = 8\ndevice_beside = true"))
    assert why.means(LinkReason.LANES_SHARED)
    assert why["beside"] == ("0000:00:01.1",)


def test_a_card_that_itself_tells_less_is_named(tmp_path: Path) -> None:
    assert not_shown(run(tmp_path, "", "width_lanes = 8")).means(LinkReason.LANES_OF_CARD)
    assert not_shown(run(tmp_path, "", "generation = 3")).means(LinkReason.SPEED_OF_CARD)


def test_of_two_alike_the_cards_own_bound_is_named(tmp_path: Path) -> None:
    record = run(tmp_path, "held_generation = 3", "generation = 3")
    assert not_shown(record).means(LinkReason.SPEED_OF_CARD)


def test_a_profile_that_asks_for_less_is_content(tmp_path: Path) -> None:
    record = run(tmp_path, "held_generation = 3\nslot_width_lanes = 8", lanes=8, generation=3)
    assert not [r for r in record.readings if r.name == "full_link_shown"]
    assert record.run.verdict.value == "pass"


def test_a_bridge_on_the_way_bounds_what_can_be_moved_not_what_is_trained(tmp_path: Path) -> None:
    record = run(
        tmp_path, "uplink_width_lanes = 4\nuplink_generation = 3\ndevice_beside = true"
    )
    assert reading(record, "link_width_lanes").value == 16.0
    share = reading(record, "copy_share_of_payload_limit")
    assert share.source is not None
    assert share.source.means(LinkSource.PAYLOAD_LIMIT_ON_THE_WAY)
    assert share.source["port"] == "0000:06:00.0"
    assert isinstance(share.value, float)
    assert 0.6 < share.value <= 1.0
    (told,) = [
        note for entry in record.events("Noted")
        if (note := entry.note()) is not None and note.means(LinkNote.POSITION)
    ]
    assert told["behind_bridge"] == ("0000:08:00.0",)
    for language in ("en", "de"):
        assert "0000:06:00.0" in catalogue(language).say(told)
    full = reading(record, "full_rate_shown")
    assert full.verdict is Verdict.NOT_MEASURED
    assert full.reason is not None
    assert full.reason["port"] == "0000:06:00.0"
    assert record.run.verdict.value == "conditional"


@pytest.mark.parametrize("name", ["full_link_shown", "link_width_lanes"])
def test_no_profile_lets_a_full_link_off(tmp_path: Path, name: str) -> None:
    path = tmp_path / "slot_x4.toml"
    path.write_text(f'name = "x4"\ntitle = "x4"\n[bench]\nslot_width_lanes = 4\n{CARD}')
    loaded = link_alone()
    stage = loaded.profile.stages[0].model_copy(update={"optional": (name,)})
    profile = loaded.profile.model_copy(update={"stages": (stage,)})
    record = run_simulated(str(path), replace(loaded, profile=profile), tmp_path).record
    assert reading(record, "full_link_shown").required
    assert record.run.verdict.value == "conditional"
