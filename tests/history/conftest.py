"""A made-up shop as files and taken in, made once and looked at by many tests."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from burnin.history.opened import OpenHistory, open_history
from burnin.history.sync import Synced, sync
from tests.history.shop import Planted, Shop, make_shop
from tests.history.shop_files import Kept, write_shop
from tests.history.shop_rows import store_of_shop


def named(customer: str) -> str:
    """What stands in a customer's place in these tests."""
    return "somebody" if customer else ""


@dataclass(frozen=True)
class OnDisk:
    """A shop as it lies in `results`, and what came of taking it in."""

    results: Path
    store: Path
    shop: Shop
    kept: Kept
    synced: Synced


@pytest.fixture(scope="session")
def on_disk(tmp_path_factory: pytest.TempPathFactory) -> OnDisk:
    results = tmp_path_factory.mktemp("results")
    shop = make_shop(12, 11, back_within_90=0.4)
    kept = write_shop(results, shop, torn=3, edited=2, unclosed=1, old=3)
    store = results / ".history"
    return OnDisk(results, store, shop, kept, sync(results, store, named))


@dataclass(frozen=True)
class AtOnce:
    """A larger shop straight in a store."""

    shop: Shop
    store: Path
    planted: Planted


PLANTED = Planted("joint reflowed", "be4c0003", 0.5, 0.4, "display")


@pytest.fixture(scope="session")
def planted(tmp_path_factory: pytest.TempPathFactory) -> AtOnce:
    shop = make_shop(1500, 5, PLANTED)
    return AtOnce(shop, store_of_shop(tmp_path_factory.mktemp("planted"), shop), PLANTED)


@pytest.fixture(scope="session")
def asked(planted: AtOnce) -> Iterator[OpenHistory]:
    with open_history(planted.store) as history:
        yield history
