"""Of shops in which nothing is planted no more are claimed to differ than is stated."""

from __future__ import annotations

import pytest

from burnin.core.exact_intervals import ratio_lower
from burnin.history.statistics.several_tests import SHARE
from tests.history.claims import shares
from tests.history.shop import Planted

STORES = 16


@pytest.mark.long
def test_where_nothing_is_planted_no_more_is_claimed_than_is_stated() -> None:
    """A few of the many that ``python -m tests.history.claims`` makes; their seeds are fixed."""
    counted = shares(STORES, Planted(), first=1)
    for name, count in counted.items():
        assert not count or ratio_lower(count, STORES, 0.999) <= SHARE, f"{name}: {count}"
