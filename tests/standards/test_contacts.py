"""The contact maps against published sources: KiCad's libraries, Intel 336521, pinout tables."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import pytest

from burnin.connector.contact_map import (
    LAST_CONTACT,
    contacts,
    is_short,
    on_connector,
    place_mm,
)
from burnin.connector.other_connectors import connectors
from tests.standards.kicad import FOOTPRINTS, SYMBOLS, pads, symbol_pins

RequireTool = Callable[[str], str]

# Reserved when KiCad's symbol was drawn, named since (Wikipedia, "PCI Express", table of the edge).
RENAMED = {"B12": "CLKREQ#", "B30": "PWRBRK#"}
# KiCad numbers the test port in the order of its own names.
JTAG = {"JTAG1": "TRST#", "JTAG2": "TCK", "JTAG3": "TDI", "JTAG4": "TDO", "JTAG5": "TMS"}


def plain(name: str) -> str:
    """KiCad's spelling in ours: ~{PERST} is PERST#."""
    name = re.sub(r"~\{(.*)\}", r"\1#", name)
    return JTAG.get(name, {"3.3Vaux": "+3.3Vaux"}.get(name, name))


@pytest.fixture
def library(require_tool: RequireTool) -> Path:
    return Path(require_tool(SYMBOLS))


def test_the_edge_agrees_with_kicads_symbol_but_for_two_renamed_contacts(library: Path) -> None:
    pins = symbol_pins(library, "Bus_PCI_Express_x16")
    theirs = {number: plain(name) for number, (name, _) in pins.items()}
    ours = {name: contact.signal for name, contact in contacts().items()}
    assert set(theirs) == set(ours)
    differing = {name: ours[name] for name in ours if ours[name] != theirs[name]}
    assert differing == RENAMED
    assert {theirs[name] for name in RENAMED} == {"RSVD"}


def test_directions_agree_with_kicads_pin_types(library: Path) -> None:
    types = {n: kind for n, (_, kind) in symbol_pins(library, "Bus_PCI_Express_x16").items()}
    expected = {"input": {"in"}, "output": {"out"}, "bidirectional": {"bidir"}}
    told = [name for name in types if types[name] in expected]
    assert len(told) > 64
    # WAKE# has an open drain on the card; KiCad draws it as an output. SMCLK, which KiCad draws as
    # an input, may be driven by the card too.
    expected["output"] |= {"out_open_drain"}
    for name in told:
        if name != "B5":
            assert contacts()[name].direction in expected[types[name]], name


@pytest.mark.parametrize("width", [1, 4, 8])
def test_shorter_edges_end_where_kicads_symbols_end(library: Path, width: int) -> None:
    theirs = set(symbol_pins(library, f"Bus_PCI_Express_x{width}"))
    assert theirs == {c.name for c in contacts().values() if on_connector(c, width)}


@pytest.mark.parametrize("width", [1, 4, 8, 16])
def test_geometry_agrees_with_kicads_footprints(require_tool: RequireTool, width: int) -> None:
    folder = Path(require_tool(FOOTPRINTS))
    found = pads(folder / f"BUS_PCIexpress_x{width}.kicad_mod")
    assert len(found) == 2 * LAST_CONTACT[width]
    first = found["B1"][0]
    longest = max(high for *_, high in found.values())
    for name, (x, _, _, high) in found.items():
        assert x - first == pytest.approx(place_mm(contacts()[name].number)), name
        assert (high < longest) == is_short(name, width), name


def test_hdmi_agrees_with_kicads_symbol(library: Path) -> None:
    theirs = {n: name for n, (name, _) in symbol_pins(library, "HDMI_A").items() if n != "SH"}
    assert theirs == {c.label: c.signal for c in connectors()["hdmi"].contacts}
    assert len(theirs) == 19


def test_usb_c_agrees_with_kicads_symbol(library: Path) -> None:
    pins = symbol_pins(library, "USB_C_Receptacle")
    theirs = {n: name for n, (name, _) in pins.items() if n != "S1"}
    assert theirs == {c.label: c.signal for c in connectors()["usbc"].contacts}
    assert len(theirs) == 24


# Barco R5909934 manual, appendix A.4, "DisplayPort connector pinouts", as printed there.
BARCO = """1 ML_Lane 0 (p); 2 GND; 3 ML_Lane 0 (n); 4 ML-Lane 1 (p); 5 GND; 6 ML_Lane 1 (n);
7 ML-Lane 2 (p); 8 GND; 9 ML_Lane 2 (n); 10 ML_Lane 3 (p); 11 GND; 12 ML-Lane 3 (n);
13 CONFIG1; 14 Config2; 15 AUX CH (p); 16 GND; 17 AUX CH (n); 18 Hot Plug Detect;
19 Return; 20 DP_PWR"""


def test_displayport_agrees_with_a_published_table() -> None:
    def ours(text: str) -> str:
        text = text.replace("-", "_").replace(" (p)", "+").replace(" (n)", "-")
        text = text.replace("Lane ", "Lane").replace("AUX CH", "AUX_CH").replace("Config", "CONFIG")
        return {"Hot Plug Detect": "HPD", "Return": "RTN"}.get(text, text)

    rows = [row.strip().split(" ", 1) for row in BARCO.split(";")]
    theirs = {number: ours(name) for number, name in rows}
    assert theirs == {c.label: c.signal for c in connectors()["dp"].contacts}


def test_counts_of_the_edge_by_group() -> None:
    # PCI Express Card Electromechanical Specification, pin list, counted from Wikipedia's table.
    assert Counter(c.group for c in contacts().values()) == {
        "ground": 68, "lane_tx": 32, "lane_rx": 32, "power_12v": 5, "power_3v3": 3,
        "power_3v3aux": 1, "presence_detect": 5, "jtag": 5, "smbus": 2, "clock": 2, "reset": 1,
        "wake": 1, "clkreq": 1, "pwrbrk": 1, "reserved": 5,
    }  # fmt: skip


def test_power_connectors_agree_with_intels_tables() -> None:
    # Intel 336521, tables 5-4, 5-5 and 5-7; COM is ground.
    assert signals("6pin") == ["+12V"] * 3 + ["GND", "Sense", "GND"]
    assert signals("8pin") == ["+12V"] * 3 + ["Sense1", "GND", "Sense0", "GND", "GND"]
    sideband = ["CARD_PWR_STABLE", "CARD_CBL_PRES#", "SENSE0", "SENSE1"]
    assert signals("12v2x6") == ["+12V"] * 6 + ["GND"] * 6 + sideband
    # Table 3-5: sustained power and RMS current.
    found = {key: (c.budget_w, c.current_a) for key, c in connectors().items() if c.sense}
    assert found == {"6pin": (75.0, 6.75), "8pin": (150.0, 13.5), "12v2x6": (600.0, 55.0)}


def signals(key: str) -> list[str]:
    return [contact.signal for contact in connectors()[key].contacts]


def test_sense_tables_agree_with_published_ones() -> None:
    # Intel 336521, table 5-6, in the order Sense1, Sense0.
    rows = {(r.lines["Sense1"], r.lines["Sense0"]): r.running_w for r in connectors()["8pin"].sense}
    assert rows == {
        ("ground", "ground"): 150.0, ("ground", "open"): None, ("open", "ground"): 75.0,
        ("open", "open"): 0.0,
    }  # fmt: skip
    # Wikipedia, "16-pin 12VHPWR connector", sense behaviour, column 12V-2x6: SENSE0, SENSE1.
    found = {
        (r.lines["SENSE0"], r.lines["SENSE1"]): (r.start_w, r.running_w)
        for r in connectors()["12v2x6"].sense
    }
    assert found == {
        ("open", "open"): (0.0, 0.0), ("joined", "joined"): (100.0, 150.0),
        ("ground", "open"): (150.0, 300.0), ("open", "ground"): (225.0, 450.0),
        ("ground", "ground"): (375.0, 600.0),
    }  # fmt: skip
