"""Contrast of every pair of colours in the pages' styles, computed as WCAG 2.2 has it.

Text 4.5:1 (success criterion 1.4.3), marks, frames and curves 3:1 (1.4.11), in light and in dark.
Relative luminance and contrast ratio as defined there. Lines that only part things (`--line`) and
the area of a forecast (`--band`), whose figures stand in words beside it, are needed to understand
nothing and count for nothing.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import burnin.page.assets as assets

STYLES = sorted(Path(assets.__file__).parent.glob("*.css"))
SURFACES = ("paper", "sheet")
"""What text stands on where its rule says nothing else."""
BESIDE = ("line", "band")
CURVES = ("temperature", "hot-spot", "limit", "power", "target")
"""Drawn by plot.js on a sheet."""
TEXT, GRAPHIC = 4.5, 3.0
Colour = tuple[float, float, float]


def luminance(colour: Colour) -> float:
    def linear(part: float) -> float:
        return part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4

    red, green, blue = map(linear, colour)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: Colour, other: Colour) -> float:
    brighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (brighter + 0.05) / (darker + 0.05)


def colour_of(text: str) -> Colour:
    digits = text.strip().removeprefix("#")
    parts = [int(digits[at : at + 2], 16) / 255.0 for at in (0, 2, 4)]
    return parts[0], parts[1], parts[2]


def grey(colour: Colour) -> Colour:
    """As `filter: grayscale(1)` shows it (Filter Effects Module Level 1, 8.4)."""
    value = 0.2126 * colour[0] + 0.7152 * colour[1] + 0.0722 * colour[2]
    return value, value, value


def text_of(path: Path) -> str:
    return re.sub(r"/\*.*?\*/", "", path.read_text("utf-8"), flags=re.S)


def colours(scheme: str) -> dict[str, Colour]:
    """The colours of a scheme by name."""
    blocks = re.findall(r":root\s*\{(.*?)\}", text_of(STYLES[-1]), flags=re.S)
    light, dark = (dict(re.findall(r"--([\w-]+):\s*(#\w{6})", b)) for b in blocks)
    named = light if scheme == "light" else light | dark
    return {name: colour_of(value) for name, value in named.items()}


def rules() -> Iterator[tuple[str, str]]:
    """Selector and declarations of each rule of all styles, those inside a condition too."""
    for path in STYLES:
        for selector, declared in re.findall(r"([^{}]+)\{([^{}]*)\}", text_of(path)):
            if ":root" not in selector:
                yield f"{path.name} {' '.join(selector.split())}", declared


def pairs() -> Iterator[tuple[str, str, str, float]]:
    """Where, which colour, on which, and how much contrast it takes."""
    for where, declared in rules():
        told = dict(re.findall(r"(?:^|[;{\s])([\w-]+):\s*([^;]+)", declared))
        ground = re.findall(r"var\(--([\w-]+)\)", told.get("background", ""))
        for name in re.findall(r"var\(--([\w-]+)\)", told.get("color", "")):
            for surface in ground or SURFACES:
                yield where, name, surface, TEXT
        for what, value in told.items():
            if not re.match(r"border|outline|accent-color", what):
                continue
            for name in re.findall(r"var\(--([\w-]+)\)", value):
                yield from ((where, name, surface, GRAPHIC) for surface in SURFACES)
    for name in CURVES:
        yield "plot.js", name, "sheet", GRAPHIC


def too_little(scheme: str, *, without_colour: bool) -> list[str]:
    named, found = colours(scheme), []
    for where, name, surface, least in pairs():
        if name in BESIDE:
            continue
        one, other = named[name], named[surface]
        if without_colour:
            one, other = grey(one), grey(other)
        ratio = contrast(one, other)
        if ratio < least:
            found.append(f"{where}: --{name} on --{surface} {ratio:.2f}:1, needs {least}:1")
    return found


@pytest.mark.parametrize("without_colour", [False, True], ids=["as it is", "no connection"])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_pair_of_colours_can_be_told_apart(scheme: str, without_colour: bool) -> None:
    assert too_little(scheme, without_colour=without_colour) == []


def test_no_colour_is_written_out_beside_the_named_ones_and_nothing_is_paled() -> None:
    for where, declared in rules():
        assert not re.search(r"#[0-9a-fA-F]{3,8}\b|rgb\(|hsl\(", declared), where
        assert not re.search(r"opacity:(?!\s*[01];)", declared), where


def test_many_pairs_are_found() -> None:
    found = list(pairs())
    assert len(found) > 80
    assert {name for _, name, _, _ in found} >= {"pass", "fail", "open", "so-far", "ink", "soft"}


@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    [("#000000", "#ffffff", 21.0), ("#767676", "#ffffff", 4.54), ("#777777", "#ffffff", 4.48)],
)
def test_the_formula_gives_the_ratios_that_are_known(one: str, other: str, ratio: float) -> None:
    assert contrast(colour_of(one), colour_of(other)) == pytest.approx(ratio, abs=0.005)
