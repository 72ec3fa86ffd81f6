"""Algebra over GF(2) against looking at every mask of a small space."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from burnin.diagnosis.memory_fault import gf2

BITS = tuple(range(2, 9))
vectors = st.lists(st.integers(0, 127).map(lambda n: n << 2), max_size=10)


def every_combination(basis: list[int]) -> set[int]:
    found = {0}
    for vector in basis:
        found |= {vector ^ other for other in found}
    return found


@given(vectors)
def test_a_reduced_form_spans_the_same_with_no_row_to_spare(given_vectors: list[int]) -> None:
    rows = gf2.reduced(given_vectors)
    assert every_combination(list(rows.values())) == every_combination(given_vectors)
    assert 2 ** len(rows) == len(every_combination(given_vectors))
    for lead, row in rows.items():
        assert row.bit_length() - 1 == lead
        assert sum(other >> lead & 1 for other in rows.values()) == 1


@given(vectors)
def test_orthogonal_masks_are_all_that_are_even_on_every_vector(given_vectors: list[int]) -> None:
    found = every_combination(list(gf2.orthogonal(given_vectors, BITS)))
    even = {
        mask
        for mask in (n << 2 for n in range(128))
        if all(gf2.parity(mask & vector) == 0 for vector in given_vectors)
    }
    assert found == even


@given(vectors, st.integers(0, 127).map(lambda n: n << 2))
def test_a_vector_is_spanned_where_some_combination_is_it(
    given_vectors: list[int], vector: int
) -> None:
    assert gf2.spans(given_vectors, vector) == (vector in every_combination(given_vectors))


@given(vectors)
def test_no_basis_of_the_same_span_has_fewer_bits(given_vectors: list[int]) -> None:
    light = gf2.lightest(given_vectors)
    assert gf2.same_span(light, given_vectors)
    chosen: list[int] = []
    for mask in sorted(every_combination(given_vectors), key=lambda m: m.bit_count()):
        if mask and not gf2.spans(chosen, mask):
            chosen.append(mask)
    assert sum(m.bit_count() for m in light) == sum(m.bit_count() for m in chosen)


@given(st.lists(st.integers(0, 2**30), min_size=11, max_size=14))
def test_many_vectors_are_made_lighter_and_span_the_same(given_vectors: list[int]) -> None:
    light = gf2.lightest(given_vectors)
    assert gf2.same_span(light, given_vectors)
    rows = gf2.reduced(given_vectors).values()
    assert sum(m.bit_count() for m in light) <= sum(m.bit_count() for m in rows)
