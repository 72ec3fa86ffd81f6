"""Both drawings of the edge: every finger, the marks, nothing on top of another."""

from __future__ import annotations

import itertools
import re
import xml.etree.ElementTree as ET

import pytest

from burnin.connector.contact_map import LAST_CONTACT, contacts, is_short
from burnin.connector.text_drawing import draw_text
from burnin.core.errors import BadInput
from burnin.report.paper.edge_drawing import edge_svg
from tests.refusals import refused

MARKS = {"B81": "damaged", "A35": "repaired", "B82": "suspected", "A1": "asked"}
SVG = "{http://www.w3.org/2000/svg}"


def rows(text: str, side: str) -> str:
    """The fingers of a side, stretches joined, the key left out."""
    found = [line[8:] for line in text.splitlines() if line.startswith(f"side {side}")]
    return "".join(found).replace(" ", "")


@pytest.mark.parametrize("width", [44, 60, 80, 100, 120, 200])
def test_text_shows_each_finger_once_and_fits(width: int) -> None:
    text = draw_text(MARKS, width)
    assert max(map(len, text.splitlines())) <= width
    for side in "AB":
        fingers = rows(text, side)
        assert len(fingers) == 82
        for contact in contacts().values():
            if contact.side == side and contact.lane is not None:
                digit = f"{contact.lane:02d}"["pn".index(contact.polarity)]
                assert fingers[contact.number - 1] == digit
        assert {fingers[c.number - 1] for c in contacts().values()
                if c.side == side and c.group == "ground"} == {":"}  # fmt: skip
    assert text.count("key") == 1
    assert [text.count(f"x{lanes}|") for lanes in LAST_CONTACT] == [1, 1, 1, 1]


def test_text_puts_signs_next_to_their_fingers() -> None:
    lines = draw_text({"B81": "damaged", "B14": "suspected"}, 120).splitlines()
    fingers = next(i for i, line in enumerate(lines) if line.startswith("side B"))
    assert lines[fingers - 1].index("X") == lines[fingers].index("'")
    assert lines[fingers - 1].index("?") == lines[fingers].index("00")
    assert "X damaged: B81" in lines
    assert "? suspected: B14" in lines


def test_text_of_eighty_columns_is_cut_where_the_x8_edge_ends() -> None:
    lines = [line for line in draw_text({}, 80).splitlines() if line.startswith("side B")]
    assert [len(line[8:].replace(" ", "")) for line in lines] == [49, 33]


def parsed(marks: dict[str, str], width_mm: float = 180.0) -> ET.Element:
    return ET.fromstring(edge_svg(marks, width_mm))


def shift(element: ET.Element) -> tuple[float, float]:
    found = re.match(r"translate\((\S+) (\S+)\)", element.attrib["transform"])
    assert found is not None
    return float(found[1]), float(found[2])


def fingers_of(svg: ET.Element) -> list[tuple[float, float, float, float]]:
    """Left, top, right, bottom of each finger."""
    found = []
    for rect in svg.findall(f"{SVG}rect"):
        x, y = shift(rect)
        found.append((x, y, x + float(rect.attrib["width"]), y + float(rect.attrib["height"])))
    return found


def test_svg_draws_every_finger_apart_from_the_others() -> None:
    fingers = fingers_of(parsed({}))
    assert len(fingers) == 164
    for one, two in itertools.combinations(fingers, 2):
        assert one[2] < two[0] or two[2] < one[0] or one[3] < two[1] or two[3] < one[1]


def test_svg_draws_presence_fingers_short_and_back_from_the_edge() -> None:
    svg = parsed({})
    high = sorted(bottom - top for _, top, _, bottom in fingers_of(svg))
    short = sum(is_short(name) for name in contacts())
    assert high[short - 1] < high[short] == high[-1]
    assert short == 2


def test_svg_names_each_marked_contact_and_no_name_touches_another() -> None:
    every = dict.fromkeys(contacts(), "damaged")
    svg = parsed(every)
    names = {t.text: t for t in svg.findall(f"{SVG}text") if t.text in contacts()}
    assert set(names) == set(contacts())
    size = float(names["B1"].attrib["font-size"])
    places = sorted(shift(names[f"B{n}"])[0] for n in range(1, 83))
    # Upright digits are about 0.73 of their size high (DejaVu Sans).
    assert min(b - a for a, b in itertools.pairwise(places)) > 0.73 * size
    limit = float(svg.attrib["viewBox"].split()[2])
    assert 0.0 < places[0] < places[-1] < limit


def test_svg_tells_marks_apart_by_shape_not_colour() -> None:
    signs = {}
    for mark in ("damaged", "repaired", "suspected", "asked"):
        group = parsed({"B40": mark}).findall(f"{SVG}g")[0]
        signs[mark] = re.sub(r"(fill|stroke)=\S+", "", ET.tostring(group, encoding="unicode"))
    assert len(set(signs.values())) == 4
    inks = set(re.findall(r"#[0-9a-f]{6}", edge_svg(MARKS, 180.0)))
    for ink in inks:
        red, green, blue = (int(ink[i : i + 2], 16) for i in (1, 3, 5))
        assert max(red, green, blue) - min(red, green, blue) < 20


def test_svg_says_what_is_marked_to_who_cannot_see_it() -> None:
    title = parsed(MARKS).find(f"{SVG}title")
    assert title is not None
    assert title.text == (
        "Edge connector, both sides. damaged: B81; repaired: A35; suspected: B82; asked: A1"
    )


def test_svg_is_as_wide_as_asked() -> None:
    svg = parsed(MARKS, 150.0)
    assert svg.attrib["width"] == "150mm"
    wide, high = (float(part) for part in svg.attrib["viewBox"].split()[2:])
    assert float(svg.attrib["height"][:-2]) == pytest.approx(150.0 * high / wide, abs=0.1)


def test_drawings_refuse_unknown_contacts() -> None:
    with refused(BadInput, match="nearest: B82"):
        edge_svg({"B83": "damaged"}, 180.0)
    with refused(BadInput, match="nearest: B82"):
        draw_text({"B83": "damaged"}, 80)
