"""Both engines treat the same tiles in the same order."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from burnin.engine.device.area import Tiles
from burnin.engine.device.layout import tile_order


@given(st.integers(0, 99), st.integers(0, 50), st.sampled_from([None, 0, 1]), st.booleans())
def test_each_tile_of_the_parity_comes_once_and_in_order(
    tile: int, count: int, parity: int | None, descending: bool
) -> None:
    first, step, many = tile_order(tile, count, Tiles(parity, descending))
    order = [first + k * step for k in range(many)]
    wanted = [k for k in range(count) if parity is None or (tile + k) % 2 == parity]
    assert order == (wanted[::-1] if descending else wanted)
