"""What the kernel's words about a link mean, and what no link can be."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.card.meanings import LinkWordsReason
from burnin.card.rates import (
    RATE_GTS,
    line_rate_gbs,
    parse_speed_gts,
    parse_width_lanes,
    payload_limit_gbs,
)
from burnin.core.reading import NotMeasured
from burnin.report.languages.catalogue import catalogue


@pytest.mark.parametrize(
    ("text", "speed_gts"),
    [
        ("8 GT/s", 8.0),
        ("8.0 GT/s PCIe", 8.0),
        ("2.5 GT/s", 2.5),
        ("2.5 GT/s PCIe\n", 2.5),
        ("16 GT/s", 16.0),
        ("64.0 GT/s PCIe", 64.0),
    ],
)
def test_speed_is_read_in_every_wording(text: str, speed_gts: float) -> None:
    assert parse_speed_gts(text) == speed_gts


@pytest.mark.parametrize(
    "text", ["Unknown", "Unknown speed", "", "66 MHz PCI", "9 GT/s", "8 GT", "٨ GT/s", "8" * 400]
)
def test_a_speed_that_is_none_is_not_measured_and_says_what_was_told(text: str) -> None:
    speed = parse_speed_gts(text)
    assert isinstance(speed, NotMeasured)
    assert speed.reason.means(LinkWordsReason.SPEED, LinkWordsReason.NO_RATE)
    assert len(catalogue("en").say(speed.reason)) < 80


@pytest.mark.parametrize(("text", "lanes"), [("16", 16), ("x8", 8), ("1\n", 1), ("32", 32)])
def test_width_is_read(text: str, lanes: int) -> None:
    assert parse_width_lanes(text) == lanes


@pytest.mark.parametrize("text", ["0", "255", "", "x", "-1", "33", "Unknown"])
def test_a_width_that_is_none_is_not_measured(text: str) -> None:
    assert isinstance(parse_width_lanes(text), NotMeasured)


@given(st.text())
def test_no_text_is_ever_an_error(text: str) -> None:
    assert parse_speed_gts(text) in RATE_GTS.values() or not parse_speed_gts(text)
    assert not parse_width_lanes(text) or parse_width_lanes(text) in range(1, 33)


@given(
    st.sampled_from(sorted(RATE_GTS)),
    st.sampled_from([1, 2, 4, 8, 16]),
    st.sampled_from([128, 256, 512, 1024, 2048, 4096]),
)
def test_payload_never_exceeds_the_line_and_grows_with_everything(
    generation: int, width: int, payload: int
) -> None:
    limit = payload_limit_gbs(generation, width, payload)
    assert 0 < limit < line_rate_gbs(generation, width)
    assert payload_limit_gbs(generation, 2 * width, payload) == pytest.approx(2 * limit)
    if payload < 4096:
        assert payload_limit_gbs(generation, width, 2 * payload) > limit


@pytest.mark.parametrize(
    ("generation", "width", "payload"), [(0, 16, 256), (7, 16, 256), (4, 0, 256), (4, 16, 200)]
)
def test_a_link_that_cannot_be_is_refused(generation: int, width: int, payload: int) -> None:
    with pytest.raises(ValueError, match=r"generation|lanes|payload"):
        payload_limit_gbs(generation, width, payload)
