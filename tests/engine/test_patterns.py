from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.core.errors import EngineError
from burnin.engine.device.meanings import PatternReason
from burnin.engine.device.passes import PassKind
from burnin.engine.device.patterns import FAMILIES, passes, steps, word, words, written_and_read
from burnin.engine.device.recipes import ONES, pcg

families = st.sampled_from(sorted(FAMILIES))


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


@pytest.mark.parametrize("name", sorted(FAMILIES))
def test_a_check_expects_what_the_pass_before_it_wrote(name: str) -> None:
    present = None
    for step in passes(name):
        if step.kind in (PassKind.CHECK, PassKind.CHECK_THEN_WRITE):
            assert step.expect == present
        if step.kind in (PassKind.WRITE, PassKind.CHECK_THEN_WRITE):
            present = step.write
    assert present is not None


@pytest.mark.parametrize("name", sorted(FAMILIES))
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
