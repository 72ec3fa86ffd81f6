from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.engine.device.area import GRAIN_WORDS, Span
from burnin.engine.device.layout import Layout, halves, spans

grains = st.integers(1, 9)


@given(st.lists(grains, min_size=1, max_size=6), st.data())
def test_pieces_cover_the_span_once_and_in_order(sizes: list[int], data: st.DataObject) -> None:
    layout = Layout([size * GRAIN_WORDS for size in sizes])
    first = data.draw(st.integers(0, layout.words - 1))
    words = data.draw(st.integers(1, layout.words - first))
    at = first
    starts = [sum(sizes[:k]) * GRAIN_WORDS for k in range(len(sizes))]
    for piece in layout.pieces(first, words):
        assert piece.first == at == starts[piece.buffer] + piece.offset
        assert piece.offset + piece.words <= sizes[piece.buffer] * GRAIN_WORDS
        at += piece.words
    assert at == first + words


@given(grains, grains, st.booleans())
def test_spans_cover_all_words_once(total: int, size: int, descending: bool) -> None:
    cut = spans(total * GRAIN_WORDS, size * GRAIN_WORDS, descending=descending)
    ordered = cut[::-1] if descending else cut
    at = 0
    for span in ordered:
        assert span.first == at
        assert 0 < span.words <= size * GRAIN_WORDS
        at += span.words
    assert at == total * GRAIN_WORDS


@given(st.integers(2, 99), st.integers(0, 99))
def test_halves_are_whole_grains(grain_count: int, first: int) -> None:
    low, high = halves(Span(first * GRAIN_WORDS, grain_count * GRAIN_WORDS))
    assert low.words % GRAIN_WORDS == high.words % GRAIN_WORDS == 0
    assert min(low.words, high.words) > 0
    assert high.first == low.first + low.words
    assert low.words + high.words == grain_count * GRAIN_WORDS


def test_a_buffer_that_is_no_whole_number_of_grains_is_refused() -> None:
    with pytest.raises(ValueError, match="multiples"):
        Layout([GRAIN_WORDS + 1])


def test_words_outside_are_refused() -> None:
    with pytest.raises(ValueError, match="outside"):
        Layout([GRAIN_WORDS]).pieces(GRAIN_WORDS - 1, 2)
