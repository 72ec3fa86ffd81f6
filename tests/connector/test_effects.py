"""What the maps say of damage: every contact, every state; a stage that exists, or the gap."""

from __future__ import annotations

import pytest

from burnin.connector.contact_facts import contact_facts
from burnin.connector.contact_map import beside, contacts, twin
from burnin.connector.edge_effects import counting_end, edge_effect, edge_effects
from burnin.connector.effect import STATES, Effect
from burnin.connector.finding import AnyContact
from burnin.connector.meanings import direction_term
from burnin.connector.measuring import edge_checks, plug_checks
from burnin.connector.other_connectors import connectors, plug_contacts, source_texts
from burnin.connector.plug_effects import plug_effects
from burnin.report.languages.catalogue import catalogue
from burnin.stages.registry import stage_kinds

EVERY: dict[str, AnyContact] = {**contacts(), **plug_contacts()}


def effects_of(name: str) -> tuple[Effect, ...]:
    return edge_effects(name) if name in contacts() else plug_effects(plug_contacts()[name])


@pytest.mark.parametrize("name", EVERY)
def test_every_contact_has_effects_a_stage_or_the_gap_and_a_measurement(name: str) -> None:
    effects = effects_of(name)
    assert tuple(effect.state for effect in effects) == STATES
    for effect in effects:
        assert effect.text.endswith(".")
        assert effect.brief
        assert effect.stages or effect.gap
        assert set(effect.stages) <= set(stage_kinds())
    told = contact_facts(EVERY[name])
    for language in ("en", "de"):
        words = catalogue(language)
        for term in (told.carries, direction_term(told.direction)):
            assert words.knows(term.code)
            assert "{" not in words.say(term)
    assert told.sources
    assert set(EVERY[name].sources) <= set(source_texts())
    assert told.measure
    assert all(check.do and check.expect and check.caution for check in told.measure)


def test_gap_rule() -> None:
    # Width and error counts cover lanes, clock and reset; these groups need continuity or voltage.
    silent = {"wake", "jtag", "smbus", "ground", "power_12v", "power_3v3", "reserved"}
    for contact in contacts().values():
        opened = edge_effect(contact, "open")
        if contact.group in silent:
            assert not opened.stages
            assert opened.gap
        if contact.group in ("lane_tx", "lane_rx", "clock", "reset"):
            assert opened.stages
            assert not opened.gap


def test_errors_count_at_the_end_that_receives() -> None:
    # Linux, sysfs-bus-pci-devices-aer: the end that sees an error counts it.
    assert counting_end(contacts()["A35"]) == "port above the card"
    assert counting_end(contacts()["B33"]) == "card"
    assert "port above the card" in edge_effect(contacts()["A35"], "resistive").text


def test_the_capacitor_is_looked_for_where_the_card_transmits() -> None:
    for contact in contacts().values():
        asks = any("capacitor sits on the card" in check.do for check in edge_checks(contact))
        assert asks == (contact.group == "lane_tx")


def test_twins_are_the_two_legs_of_one_pair() -> None:
    pairs = 0
    for contact in contacts().values():
        other = twin(contact)
        assert (other is None) == (contact.polarity == "")
        if other is not None:
            pairs += 1
            assert twin(other) == contact
            assert {contact.polarity, other.polarity} == {"p", "n"}
            assert contact.signal.translate(LEGS) == other.signal.translate(LEGS)
    assert pairs == 2 * (16 + 16 + 1)


LEGS = str.maketrans({"p": "*", "n": "*", "+": "*", "-": "*"})


def test_pairs_of_display_connectors_are_legs_of_the_same_signal() -> None:
    for contact in plug_contacts().values():
        pair = contact_facts(contact).pair
        assert bool(pair) == bool(contact.polarity)
        if pair:
            assert contact.name in pair
            first, second = (plug_contacts()[name].signal for name in pair)
            assert (first[:-1], first[-1], second[-1]) == (second[:-1], "+", "-")


def test_no_neighbour_across_the_key_notch() -> None:
    assert [c.name for c in beside(contacts()["B11"])] == ["B10"]
    assert [c.name for c in beside(contacts()["B12"])] == ["B13"]
    assert [c.name for c in beside(contacts()["A82"])] == ["A81"]


def test_slot_current_by_the_contacts_that_are_left() -> None:
    # 5.5 A over five 12 V contacts (Wikipedia, "PCI Express", power): 1.1 A, one lost 1.375 A.
    assert "1.38 A instead of 1.10 A" in edge_effect(contacts()["B2"], "open").text


def test_an_open_sense_line_lowers_the_budget_to_its_row() -> None:
    def opened(name: str) -> Effect:
        return plug_effects(plug_contacts()[name])[0]

    assert opened("8pin/4").brief == "at most 75 W"
    assert opened("8pin/6").brief == "no budget"
    assert opened("12v2x6/S3").brief == "at most 450 W"
    assert opened("12v2x6/S4").brief == "at most 300 W"
    assert opened("6pin/5").brief == "no budget"


def test_a_lost_power_contact_is_held_against_the_contact_rating() -> None:
    # 55 A / 5 = 11 A over the 9.2 A of Intel 336521; 13.5 A / 2 = 6.75 A under the 8 A.
    assert "overheats" in plug_effects(plug_contacts()["12v2x6/1"])[0].text
    assert "within" in plug_effects(plug_contacts()["8pin/1"])[0].text


def test_hot_plug_detect_touches_its_own_output_alone() -> None:
    for name in ("dp/18", "hdmi/19"):
        for effect in plug_effects(plug_contacts()[name]):
            assert effect.stages == ("display",)
    assert not any(c.group == "hot_plug" for c in contacts().values())
    assert not any(c.group == "hot_plug" for c in connectors()["usbc"].contacts)


def test_common_mix_ups_are_put_right() -> None:
    for name in ("A1", "B17", "B31", "B48", "B81"):
        assert "monitor is noticed at the display connector" in contact_facts(EVERY[name]).mix_up
    for name in ("A82", "B82"):
        assert "B82 is reserved" in contact_facts(EVERY[name]).mix_up
        assert "A82 is ground" in contact_facts(EVERY[name]).mix_up
    for name in ("dp/18", "hdmi/19"):
        assert "not the presence detect" in contact_facts(EVERY[name]).mix_up


def test_the_cable_presence_resistor_is_measurable() -> None:
    # Intel 336521, section 3.3.3: 4.7 kΩ to ground on the card.
    (check,) = plug_checks(plug_contacts()["12v2x6/S2"])
    assert "4.7 kΩ" in check.expect


def test_a_bridged_ground_says_what_its_neighbours_say() -> None:
    for contact in contacts().values():
        if contact.group == "ground":
            expected = {
                stage
                for other in beside(contact)
                if other.group != "ground"
                for stage in edge_effect(other, "shorted").stages
            }
            assert set(edge_effect(contact, "shorted").stages) == expected
