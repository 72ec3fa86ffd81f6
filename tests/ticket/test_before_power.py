"""Values of the unpowered card: bad input changes nothing, a short keeps power off."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.core.errors import BadInput
from burnin.core.quantities.quantity import Meter, parse_meter, parse_quantity
from burnin.core.reading import Verdict
from burnin.report.languages.catalogue import catalogue
from burnin.ticket.before_power.judging import judged
from burnin.ticket.before_power.meanings import BeforePowerReason, PointTerm
from burnin.ticket.before_power.power_gate import may_power, overrule
from burnin.ticket.before_power.shown_quantity import shown_quantity
from burnin.ticket.before_power.value_file import read_csv
from burnin.ticket.before_power.values import Entry, take
from burnin.ticket.log.store import add, read_ticket
from burnin.ticket.log.ticket_from_log import LOG
from tests.refusals import refused, words_of
from tests.ticket.tickets import at, profile, sagen, say, ticket

BAD = [
    ("supply_12v", "", "no value given"),
    ("supply_12v", "   ", "no value given"),
    ("B14", "452", "V or mV"),
    ("supply_12v", "-38 Ω", "negative"),
    ("supply_12v", "-0 Ω", "negative"),
    ("supply_12v", "0.45 V", "measured as resistance"),
    ("supply_12v", "38 furlongs", "unknown unit"),
    ("supply_12v", "38 A", "unknown unit"),
    ("supply_12v", "nan Ω", "not a value with a unit"),
    ("supply_12v", "inf ohm", "not a value with a unit"),
    ("supply_12v", "1e400 Ω", "too large"),
    ("supply_12v", "1e12 Ω", "over the range is OL"),
    ("supply_12v", "1,200 Ω", "does the comma part"),
    ("supply_12v", "38 Ω ± -1 Ω", "not negative"),
    ("supply_12v", "38 Ω ± 0.1 V", "different units"),
    ("supply_12v", "thirty eight ohm", "not a value with a unit"),
    ("supply_5v", "38 Ω", "no measuring point 'supply_5v'"),
    ("B14", "450 Ω", "measured as diode mode"),
    ("B14", "12 V", "more than a meter shows"),
    ("B14", "4 V", "still powered"),
    ("B83", "0.45 V", "no contact 'B83'"),
    ("C4", "0.45 V", "no measuring point 'C4'"),
    ("B14-B20", "OL", "are not neighbours"),
    ("B11-B12", "OL", "are not neighbours"),
    ("../../etc", "1 Ω", "no measuring point"),
    ("", "1 Ω", "no measuring point"),
]


@pytest.mark.parametrize(("point", "text", "told"), BAD)
def test_a_bad_value_is_explained_and_the_ticket_stays_as_it_was(
    point: str, text: str, told: str, tmp_path: Path
) -> None:
    there = ticket(tmp_path)
    before = (there.folder / LOG).read_bytes()
    with refused(BadInput, match=r".") as caught:
        take(there, [Entry("supply_core", "0.4 Ω"), Entry(point, text)], profile())
    assert told in words_of(caught.value)
    assert (there.folder / LOG).read_bytes() == before


@pytest.mark.parametrize(
    ("content", "told"),
    [
        ("", "is empty"),
        ("value,unit\n0.45,V\n", "needs a header"),
        ("point,value,unit\n", "needs the columns"),
        ("point,value,unit\nB14\n", "line 2: has fewer cells"),
        ("point,value,unit\nB14,0.45,V,1,2\n", "line 2: has more cells"),
        ('point,value,unit\n"B14,0.45,V\n', "is not CSV"),
        ("point,value,unit\nB14,,V\n", "line 2, column value: no value given"),
        ("point,value,unit\nB14,0.45,V\nB14,0.46,V\n", "line 3: B14 is given twice"),
        ("point,value,unit\nB14,0.45,V\nB15,300,Ω\n", "line 3, column value: '300 Ω' is in Ω"),
    ],
)
def test_a_bad_csv_file_is_explained_and_the_ticket_stays_as_it_was(
    content: str, told: str, tmp_path: Path
) -> None:
    there = ticket(tmp_path)
    before = (there.folder / LOG).read_bytes()
    file = tmp_path / "values.csv"
    file.write_text(content, "utf-8")
    with refused(BadInput, match=r".") as caught:
        take(there, read_csv(file), profile())
    assert told in words_of(caught.value)
    assert (there.folder / LOG).read_bytes() == before


def test_a_csv_file_that_is_no_text_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "values.csv"
    file.write_bytes(b"point,value,unit\n\xff\x00\n")
    with refused(BadInput, match="not utf-8"):
        read_csv(file)
    with refused(BadInput, match="cannot be read"):
        read_csv(tmp_path / "none.csv")


@pytest.mark.parametrize(
    ("text", "unit", "value", "uncertainty"),
    [
        ("38 Ω ± 0.5 Ω", "Ω", 38.0, 0.5),
        ("4.7kohm±1%", "Ω", 4700.0, 47.0),
        ("4,7 kΩ ± 0,1", "Ω", 4700.0, 100.0),
        ("452mV ± 2 mV", "V", 0.452, 0.002),
        ("1.2 MΩ ± 10 kΩ", "Ω", 1.2e6, 1e4),
        (".5Ω ± .1", "Ω", 0.5, 0.1),
    ],
)
def test_values_are_read_as_a_meter_shows_them(
    text: str, unit: str, value: float, uncertainty: float
) -> None:
    found = parse_quantity(text, unit)
    assert (found.value, found.uncertainty) == pytest.approx((value, uncertainty))


def test_the_meters_accuracy_becomes_an_expanded_uncertainty() -> None:
    # JCGM 100:2008, 4.3.7: half width a of a rectangle has the standard deviation a/√3; k = 2.
    meter = parse_meter("0.8%+0.2")
    assert meter == Meter(0.8, 0.2, 0.003)
    found = parse_quantity("100 Ω", "Ω", meter)
    assert found.uncertainty == pytest.approx(2 * 1.0 / 3**0.5)
    with refused(BadInput, match="per cent"):
        parse_meter("good")


@given(st.text(max_size=30), st.sampled_from(["Ω", "V"]))
def test_any_text_is_a_value_or_a_sentence(text: str, unit: str) -> None:
    try:
        found = parse_quantity(text, unit)
    except BadInput as error:
        assert str(error)  # noqa: PT017
    else:
        assert found.unit == unit
        assert found.value is None or 0.0 <= found.value < 1e9 + 1


@given(st.floats(min_value=0.01, max_value=1e8))
def test_what_is_printed_is_read_back(value: float) -> None:
    again = parse_quantity(say(shown_quantity(value, "Ω")), "Ω").value
    assert again == pytest.approx(value, rel=1e-3)


def test_a_short_keeps_power_off_until_it_is_measured_away(tmp_path: Path) -> None:
    there = take(ticket(tmp_path), [Entry("supply_12v", "1.1 Ω")], profile(), now=at(1))
    told = may_power(there, profile())
    assert told is not None
    assert told.means(BeforePowerReason.NO_POWER)
    assert "12 V supply to ground (supply_12v) reads 1.1 Ω" in say(told)
    assert "weniger als 5 Ω ist ein Kurzschluss" in sagen(told)
    repaired = add(there, "repaired", {"what": "shorted capacitor taken off"}, now=at(2))
    assert may_power(repaired, profile()) is not None
    again = take(repaired, [Entry("supply_12v", "420 Ω")], profile(), now=at(3))
    assert may_power(again, profile()) is None


def test_overruling_needs_a_written_reason_and_lasts_until_the_next_short(tmp_path: Path) -> None:
    there = take(ticket(tmp_path), [Entry("supply_12v", "1.1 Ω")], profile(), now=at(1))
    with refused(BadInput, match="written reason"):
        overrule(there, "because", profile())
    over = overrule(there, "current-limited supply, thermal camera", profile(), now=at(2))
    assert may_power(over, profile()) is None
    assert over.overrides[0].words == "current-limited supply, thermal camera"
    again = take(over, [Entry("supply_12v", "0.9 Ω")], profile(), now=at(3))
    assert may_power(again, profile()) is not None
    with refused(BadInput, match="nothing stands against"):
        overrule(ticket(tmp_path, "4712"), "a reason long enough", profile())


def test_a_solder_bridge_between_repaired_neighbours_keeps_power_off(tmp_path: Path) -> None:
    there = add(ticket(tmp_path), "repaired", {"what": "donor pad", "contacts": ["B14"]})
    there = take(there, [Entry("B14-B15", "0.4 Ω"), Entry("B14-trace", "0.2 Ω")], profile())
    told = may_power(there, profile())
    assert told is not None
    assert PointTerm.PARTED(contacts="B14-B15") in list(told.parts())


def test_values_are_judged_by_limit_twin_and_known_good_card(tmp_path: Path) -> None:
    good = take(
        ticket(tmp_path, "4690"),
        [Entry("B14", "0.45 V"), Entry("supply_12v", "900 Ω"), Entry("supply_core", "OL")],
        profile(),
    )
    there = take(
        ticket(tmp_path),
        [
            Entry("B14", "0.45 V"),
            Entry("B15", "0.62 V"),
            Entry("supply_12v", "420 Ω"),
            Entry("supply_core", "0.3 Ω ± 0.2"),
        ],
        profile(),
    )
    found = {r.name: r for r in judged(profile(), there, good)}
    assert found["supply_12v"].verdict is Verdict.PASS
    assert found["supply_core"].verdict is Verdict.UNSURE
    assert found["B14"].verdict is Verdict.PASS
    assert found["beside_twin B14 B15"].verdict is Verdict.FAIL
    assert found["beside_known_good B14"].verdict is Verdict.PASS
    assert found["beside_known_good supply_12v"].verdict is Verdict.FAIL
    assert found["beside_known_good supply_core"].verdict is Verdict.FAIL


def test_open_passes_only_where_high_is_good(tmp_path: Path) -> None:
    there = add(
        ticket(tmp_path),
        "repaired",
        {"what": "donor pad", "contacts": ["B14"], "patches": ["back"]},
    )
    points = ("supply_12v", "B14", "B14-trace", "B14-B15", "ground-back")
    there = take(there, [Entry(p, "OL") for p in points], profile())
    found = {r.name: r.verdict for r in judged(profile(), there)}
    assert found["B14-B15"] is Verdict.PASS
    assert found["supply_12v"] is Verdict.UNSURE
    assert found["B14"] is found["B14-trace"] is found["ground-back"] is Verdict.FAIL


def test_what_was_measured_before_a_repair_is_not_measured_after_it(tmp_path: Path) -> None:
    there = take(
        ticket(tmp_path),
        [Entry("supply_12v", "420 Ω"), Entry("B14", "0.45 V"), Entry("B15", "0.45 V")],
        profile(),
        now=at(1),
    )
    there = add(there, "repaired", {"what": "donor pad", "contacts": ["B14"]}, now=at(2))
    found = {r.name: r for r in judged(profile(), there)}
    assert found["supply_12v"].verdict is Verdict.NOT_MEASURED
    assert "worked on since; before that it was 420 Ω" in say(found["supply_12v"].reason)
    assert found["B14"].verdict is Verdict.NOT_MEASURED
    assert found["B15"].verdict is Verdict.PASS
    assert found["B14-trace"].reason == BeforePowerReason.NOBODY_MEASURED()


def test_smoke_at_first_light_keeps_power_off_until_a_repair(tmp_path: Path) -> None:
    there = add(
        ticket(tmp_path),
        "first_light",
        {"answers": {"smoke": "yes"}, "ended_at_once": True},
        now=at(1),
    )
    told = may_power(there, profile())
    assert told is not None
    assert "smell or smoke at first light (2 March 2026, 10:15 UTC)" in say(told)
    assert may_power(add(there, "repaired", {"what": "x"}, now=at(2)), profile()) is None
    assert read_ticket(tmp_path, "4711").first_lights[0].ended_at_once


@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize("ohm", [4700.0, 1234.5, 470000.0, 999.0])
def test_a_value_is_read_back_as_it_was_printed(language: str, ohm: float) -> None:
    printed = catalogue(language).number(f"{ohm:,.1f}")
    assert parse_quantity(f"{printed} Ω", "Ω").value == ohm
