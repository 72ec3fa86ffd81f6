"""EDID as it comes through a damaged port: every byte is accepted, every fault is named."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.card.edid.base_block import parse_edid
from burnin.card.edid.reasons import EdidReason
from burnin.core.reading import NotMeasured
from burnin.report.languages.catalogue import catalogue
from tests.card.edid_bytes import FULL_HD, VIDEO_DATA, base_block, cta_block, sealed


def test_a_sound_screen_is_read() -> None:
    edid = parse_edid(base_block(extensions=1) + cta_block(FULL_HD, data_blocks=VIDEO_DATA))
    assert edid.sound
    assert edid.manufacturer == "CRV"
    assert edid.name == "Corvane View"
    assert str(edid.preferred_mode) == "1920×1080 at 60.00 Hz"
    assert [block.name for block in edid.blocks] == ["base", "CTA-861"]
    (extension,) = edid.cta
    assert (extension.revision, len(extension.modes), extension.data_blocks) == (3, 1, 1)


def test_product_code_bytes_are_in_the_right_order() -> None:
    data = base_block(product_code=0x1234)
    assert data[10:12] == bytes([0x34, 0x12])
    assert parse_edid(data).product_code == 0x1234


def test_no_bytes_are_named_as_such() -> None:
    edid = parse_edid(b"")
    assert [problem.told() for problem in edid.problems] == [
        EdidReason.AT_BYTE_ALONE(byte=0, what=EdidReason.NO_BYTES())
    ]
    assert isinstance(edid.manufacturer, NotMeasured)


def test_a_flipped_bit_is_named_with_its_bytes() -> None:
    data = bytearray(base_block())
    data[127] ^= 1
    (problem,) = parse_edid(bytes(data)).problems
    assert problem.offset == 127
    assert problem.hex == f"{data[127]:02x}"
    assert problem.what.means(EdidReason.WRONG_CHECKSUM)
    assert problem.what["checksum"] == data[127] ^ 1
    assert f"must be {data[127] ^ 1:02x}" in catalogue("en").say(problem.told())


def test_model_year_and_missing_week_are_told_apart() -> None:
    assert parse_edid(base_block(week=255)).is_model_year
    assert isinstance(parse_edid(base_block(week=0)).week, NotMeasured)
    assert parse_edid(base_block(week=0, year=2021)).year == 2021


def test_more_blocks_than_promised_are_a_problem() -> None:
    edid = parse_edid(base_block() + cta_block(FULL_HD))
    assert [p.what for p in edid.problems] == [
        EdidReason.WRONG_EXTENSION_COUNT(promised=0, present=1)
    ]


def test_the_override_of_the_extension_count_is_followed() -> None:
    # HDMI 2.1, 10.3.6: the base block promises one extension, the first of them promises the rest.
    override = bytes([7 << 5 | 2, 0x78, 2])
    first = cta_block(data_blocks=override + VIDEO_DATA)
    edid = parse_edid(base_block(extensions=1) + first + cta_block(FULL_HD))
    assert edid.sound, edid.problems
    assert edid.extensions_promised == 2
    lacking = parse_edid(base_block(extensions=1) + first)
    assert [p.what for p in lacking.problems] == [
        EdidReason.WRONG_EXTENSION_COUNT(promised=2, present=1)
    ]


@pytest.mark.parametrize(
    ("block", "offset"),
    [
        (cta_block(start=2), 128 + 2),
        (cta_block(start=200), 128 + 2),
        (cta_block(data_blocks=bytes([2 << 5 | 9, 1]), start=6), 128 + 4),
    ],
)
def test_a_malformed_extension_is_named_where_it_is_malformed(block: bytes, offset: int) -> None:
    problems = parse_edid(base_block(extensions=1) + block).problems
    assert [problem.offset for problem in problems] == [offset]


def test_a_manufacturer_that_is_no_letters_is_not_measured() -> None:
    raw = bytearray(base_block())
    raw[8:10] = b"\xff\xff"
    edid = parse_edid(sealed(bytes(raw)))
    assert isinstance(edid.manufacturer, NotMeasured)
    assert [(problem.offset, problem.hex) for problem in edid.problems] == [(8, "ff ff")]


def test_control_characters_do_not_reach_the_name() -> None:
    raw = bytearray(base_block())
    at = raw.index(b"Corvane View")
    raw[at : at + 4] = b"\x1b[2J"
    edid = parse_edid(sealed(bytes(raw)))
    assert isinstance(edid.name, str)
    assert edid.name.isprintable()


@given(st.binary(max_size=700))
def test_no_bytes_are_ever_an_error(data: bytes) -> None:
    edid = parse_edid(data)
    assert edid.sound == (not edid.problems)
    assert len(edid.blocks) == len(data) // 128
    for problem in edid.problems:
        assert 0 <= problem.offset <= len(data)
        assert problem.what.means(*EdidReason)
        assert catalogue("en").say(problem.told()) != str(problem.told())


@given(st.data())
def test_damage_to_a_sound_screen_never_passes_for_soundness(draw: st.DataObject) -> None:
    data = bytearray(base_block(extensions=1) + cta_block(FULL_HD, data_blocks=VIDEO_DATA))
    at = draw.draw(st.integers(0, len(data) - 1))
    data[at] ^= draw.draw(st.integers(1, 255))
    assert not parse_edid(bytes(data)).sound


@given(st.integers(0, 255))
def test_bytes_lost_at_the_end_never_pass_for_soundness(length: int) -> None:
    whole = base_block(extensions=1) + cta_block(FULL_HD, data_blocks=VIDEO_DATA)
    assert not parse_edid(whole[:length]).sound
