"""Parities, remainders and pages are found of addresses that obey them, and of no others."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from burnin.diagnosis.memory_fault import gf2
from burnin.diagnosis.memory_fault.address_rule import Asked, obeying, rule_of
from burnin.diagnosis.memory_fault.aliasing import pcg_back
from burnin.diagnosis.memory_fault.ground import Ground
from burnin.diagnosis.memory_fault.parity_search import constants_of
from burnin.engine.device.recipes import pcg_array

GIB = 1 << 30
PAGE = 2 << 20


def uniform(count: int, seed: int, end_bytes: int = 8 * GIB) -> np.ndarray:
    random = np.random.default_rng(seed)
    return random.integers(0, end_bytes // 4, count, dtype=np.uint64) * np.uint64(4)


def odd(points: np.ndarray, mask: int) -> np.ndarray:
    return np.asarray(np.bitwise_count(points & np.uint64(mask)) & np.uint8(1))


@settings(max_examples=25, deadline=None)
@given(st.lists(st.integers(0, 511), min_size=1, max_size=3), st.integers(0, 7))
def test_of_a_small_space_all_parities_that_are_constant_are_found(
    above: list[int], wanted: int
) -> None:
    masks = [1 << 2 + number | bits << 5 for number, bits in enumerate(above)]
    points = np.arange(0, 1 << 14, 4, dtype=np.uint64)
    for number, mask in enumerate(masks):
        points = points[odd(points, mask) == (wanted >> number & 1)]
    points = np.random.default_rng(wanted).choice(points, 300, replace=False)
    found = constants_of(points, Ground(0, 1 << 14))
    constant = [
        mask for mask in range(4, 1 << 14, 4) if len(np.unique(odd(points, mask))) == 1
    ]
    assert gf2.same_span([c.mask for c in found], constant)
    for one in found:
        assert np.all(odd(points, one.mask) == one.wanted)


@pytest.mark.parametrize("seed", range(6))
def test_uniform_words_obey_no_rule(seed: int) -> None:
    rule = rule_of(Asked(uniform(300, seed), Ground(0, 8 * GIB), None))
    assert rule.one_of == 1
    assert rule.significance_bits == 0.0


@pytest.mark.parametrize("strays", [0.0, 0.03, 0.08])
def test_three_parities_are_found_among_strays(strays: float) -> None:
    masks = (0x4020_0100, 0x0012_0200, 0x8000_0400)
    points = uniform(4000, 1)
    for mask in masks:
        points = points[odd(points, mask) == 1]
    with_strays = np.concatenate([points, uniform(int(strays * len(points)), 2)])
    rule = rule_of(Asked(with_strays, Ground(0, 8 * GIB), None))
    assert gf2.same_span([parity.mask for parity in rule.parities], masks)
    assert np.all(obeying(points, rule))
    assert rule.significance_bits > 100


@pytest.mark.parametrize(
    ("stripe_bytes", "modulus"),
    [(256, 3), (256, 6), (512, 10), (1024, 12), (4096, 14), (2048, 5), (256, 15), (1024, 9)],
)
def test_a_remainder_is_found_with_stripe_and_modulus(stripe_bytes: int, modulus: int) -> None:
    points = uniform(6000, 3)
    points = points[points // np.uint64(stripe_bytes) % np.uint64(modulus) == 2]
    with_strays = np.concatenate([points, uniform(len(points) // 40, 4)])
    rule = rule_of(Asked(with_strays, Ground(0, 8 * GIB), None))
    assert rule.remainder is not None
    told = rule.remainder
    assert (told.stripe_bytes, told.modulus, told.remainder) == (stripe_bytes, modulus, 2)
    assert rule.parities == ()


def test_pages_in_any_order_leave_what_is_below_them() -> None:
    masks = (0x3020_0100, 0x0412_0200, 0x0000_0C00)
    points = uniform(60_000, 5, GIB)
    for mask in masks:
        points = points[odd(points, mask) == 1]
    order = np.random.default_rng(6).permutation(GIB // PAGE).astype(np.uint64)
    seen = order[(points // np.uint64(PAGE)).astype(np.intp)] * np.uint64(PAGE)
    seen += points % np.uint64(PAGE)
    rule = rule_of(Asked(np.unique(seen), Ground(0, GIB), None))
    assert rule.page_bytes == PAGE
    assert gf2.same_span(rule.within_pages, [mask & PAGE - 1 for mask in masks])
    assert [parity.mask for parity in rule.parities] == [0x0C00]


def test_pages_in_their_order_are_not_doubted() -> None:
    masks = (0x2020_0100, 0x0012_0200)
    points = uniform(20_000, 7, GIB)
    for mask in masks:
        points = points[odd(points, mask) == 0]
    rule = rule_of(Asked(np.unique(points), Ground(0, GIB), None))
    assert rule.page_bytes is None
    assert gf2.same_span([parity.mask for parity in rule.parities], masks)


def test_a_topmost_bit_that_the_area_hardly_reaches_is_no_rule() -> None:
    end = 8 * GIB + GIB // 4
    rule = rule_of(Asked(uniform(2000, 8, end), Ground(0, end), None))
    assert rule.parities == ()


@given(st.lists(st.integers(0, 2**32 - 1), min_size=1, max_size=50))
def test_the_hash_of_addresses_is_turned_back(numbers: list[int]) -> None:
    words = np.array(numbers, np.uint32)
    assert np.array_equal(pcg_back(pcg_array(words)), words)
