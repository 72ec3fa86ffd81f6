from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.core.errors import EngineError
from burnin.engine.device.meanings import PatternReason
from burnin.engine.device.passes import PassKind
from burnin.engine.device.patterns import (
    FAMILIES,
    kinds_of,
    passes,
    recipe,
    steps,
    word,
    words,
    written_and_read,
)
from burnin.engine.device.recipes import ONES, pcg
from tests.engine.published_families import FINDS, NAMES, WRITTEN_AND_READ

families = st.sampled_from(NAMES)


def test_the_families_are_those_that_were_published() -> None:
    assert sorted(FAMILIES) == list(NAMES)
    assert {name: written_and_read(name) for name in NAMES} == WRITTEN_AND_READ
    assert {name: {str(f) for f in FAMILIES[name].finds} for name in NAMES} == FINDS


@pytest.mark.parametrize("name", NAMES)
def test_every_kind_of_rule_that_a_pass_uses_is_named_before(name: str) -> None:
    used, marched = kinds_of(name)
    for step in passes(name):
        for number in {step.write, step.expect} - {-1}:
            assert recipe(name, number, 7).kind in used
        if step.kind is PassKind.CHECK_THEN_WRITE:
            assert recipe(name, step.expect, 7).kind in marched
    assert bool(marched) == (name in ("march", "moving_inversions"))


@given(st.integers(0, 2**36))
def test_walking_bits_stand_at_each_of_32_positions_of_every_word(address: int) -> None:
    contents = {word("walking_bits", step, address, 1) for step in range(64)}
    ones = {1 << bit for bit in range(32)}
    assert contents == ones | {0xFFFFFFFF ^ one for one in ones}


def test_what_the_sources_print_is_what_is_written() -> None:
    """A few words of each family, worked out by hand from what its source says."""
    def first(name: str, steps_count: int) -> list[list[int]]:
        return [words(name, step, 0, 3, seed=1).tolist() for step in range(steps_count)]

    zeros, ones = [0] * 3, [0xFFFFFFFF] * 3
    assert first("solid", 3) == [zeros, ones, zeros]
    checked = [0x55555555, 0xAAAAAAAA, 0x55555555]
    other = [0xAAAAAAAA, 0x55555555, 0xAAAAAAAA]
    for name in ("checkerboard", "hammer", "retention"):
        assert first(name, 2) == [checked, other]
    assert first("own_address", 2) == [[0, 1, 2], [0xFFFFFFFF, 0xFFFFFFFE, 0xFFFFFFFD]]
    assert first("walking_bits", 3) == [[1, 2, 4], [0xFFFFFFFE, 0xFFFFFFFD, 0xFFFFFFFB], [2, 4, 8]]
    assert first("moving_inversions", 4) == [
        [0x01010101] * 3, [0xFEFEFEFE] * 3, [0x02020202] * 3, [0xFDFDFDFD] * 3,
    ]  # fmt: skip
    backgrounds = (0, 0x55555555, 0x33333333, 0x0F0F0F0F, 0x00FF00FF, 0x0000FFFF)
    assert first("march", 12) == [
        [background ^ inverse] * 3 for background in backgrounds for inverse in (0, 0xFFFFFFFF)
    ]


def test_march_c_minus_goes_as_it_was_published() -> None:
    """{any(w0); up(r0,w1); up(r1,w0); down(r0,w1); down(r1,w0); any(r0)}, van de Goor, 1991."""
    for background in range(6):
        zero, one = 2 * background, 2 * background + 1
        element = passes("march")[6 * background : 6 * background + 6]
        assert [(p.expect, p.write) for p in element] == [
            (-1, zero), (zero, one), (one, zero), (zero, one), (one, zero), (zero, -1),
        ]  # fmt: skip
        assert [p.descending for p in element[1:5]] == [False, False, True, True]
    inversions = [p for p in passes("moving_inversions") if p.kind is PassKind.CHECK_THEN_WRITE]
    assert [p.descending for p in inversions] == [False, True] * 8


@given(families, st.data())
def test_the_array_form_equals_the_single_word(name: str, data: st.DataObject) -> None:
    step = data.draw(st.integers(0, steps(name) - 1))
    first = data.draw(st.integers(0, 2**36))
    seed = data.draw(st.integers(0, 2**32 - 1))
    array = words(name, step, first, 9, seed)
    assert array.dtype == np.uint32
    assert array.tolist() == [word(name, step, first + k, seed) for k in range(9)]


@given(families, st.integers(0, 2**36), st.integers(0, 2**32 - 1))
def test_every_bit_of_every_word_is_written_as_0_and_as_1(
    name: str, address: int, seed: int
) -> None:
    contents = [word(name, step, address, seed) for step in range(steps(name))]
    both_ones, both_zeros = 0, ONES
    for content in contents:
        both_ones |= content
        both_zeros &= content
    assert (both_ones, both_zeros) == (ONES, 0)


@given(st.integers(0, 2**34), st.integers(0, 35))
def test_own_address_differs_between_words_whose_addresses_differ_in_one_line(
    address: int, line: int
) -> None:
    assert word("own_address", 0, address, 1) != word("own_address", 0, address ^ (1 << line), 1)


@given(st.integers(0, ONES), st.integers(0, ONES))
def test_the_generator_is_a_bijection(one: int, other: int) -> None:
    assert (pcg(one) == pcg(other)) == (one == other)


def test_seeds_give_different_words() -> None:
    first = words("pseudo_random", 0, 0, 4096, seed=1)
    second = words("pseudo_random", 0, 0, 4096, seed=2)
    assert np.count_nonzero(first == second) < 3


@pytest.mark.parametrize("name", NAMES)
def test_a_check_expects_what_the_pass_before_it_wrote(name: str) -> None:
    present = None
    for step in passes(name):
        if step.kind in (PassKind.CHECK, PassKind.CHECK_THEN_WRITE):
            assert step.expect == present
        if step.kind in (PassKind.WRITE, PassKind.CHECK_THEN_WRITE):
            present = step.write
    assert present is not None


@pytest.mark.parametrize("name", NAMES)
def test_every_family_names_what_it_finds_and_where_it_was_published(name: str) -> None:
    assert FAMILIES[name].finds
    assert FAMILIES[name].source
    written, read = written_and_read(name)
    assert written >= 2
    assert read >= 2


def test_an_unknown_family_is_refused_with_the_known_ones() -> None:
    with pytest.raises(EngineError) as refused:
        steps("plaid")
    assert refused.value.reason == PatternReason.UNKNOWN(
        pattern="plaid", known=tuple(FAMILIES)
    )
    assert "solid" in FAMILIES


def test_a_step_that_does_not_exist_is_refused() -> None:
    with pytest.raises(EngineError) as refused:
        word("solid", 3, 0, 1)
    assert refused.value.reason == PatternReason.NO_SUCH_STEP(
        pattern="solid", last_step=2, step=3
    )
