"""Cases of memory: maps are one to one, and failing words keep the truth's rule."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from tests.others.explained.cases import JsonDict
from tests.others.explained.draw import cases
from tests.others.explained.memory_faults import PATTERNS, expected_of
from tests.others.explained.memory_maps import PAGE_BYTES, Words, draw_map, parity

MOST_STRAY = 0.032


@cache
def _drawn() -> list[JsonDict]:
    return [one.to_dict() for one in cases("memory", 1902, 160)]


def _column(words: JsonDict, at: int) -> Words:
    return np.array([row[at] for row in words["rows"]], dtype=np.uint64)


def _rest(address: Words, rule: JsonDict) -> Words:
    modulus = rule.get("modulus", 1)
    if modulus == 1:
        return address
    stripe = np.uint64(rule["stripe_bytes"])
    return address // stripe // np.uint64(modulus) * stripe + address % stripe


def _keeps(address: Words, rule: JsonDict) -> np.ndarray:
    """Which addresses keep a rule whose parities are known."""
    fits = np.ones(address.size, dtype=bool)
    if rule.get("modulus", 1) > 1:
        stripe = np.uint64(rule["stripe_bytes"])
        fits &= address // stripe % np.uint64(rule["modulus"]) == rule["remainder"]
    rest = _rest(address, rule)
    for mask, wanted in zip(rule["masks"], rule["parities"], strict=True):
        fits &= parity(rest, mask) == wanted
    return fits


@pytest.mark.parametrize("seed", range(12))
def test_maps_are_one_to_one(seed: int) -> None:
    rng = np.random.default_rng(seed)
    card = draw_map(rng)
    address = rng.integers(0, card.size_bytes // 4, 4000, dtype=np.uint64) * np.uint64(4)
    chip, local = card.split(address)
    assert chip.max() < card.chips
    assert local.max() < card.chip_bytes
    assert (card.join(chip, local) == address).all()
    assert set(np.unique(chip).tolist()) == set(range(card.chips))
    wanted = np.full(local.shape, 5, dtype=np.uint64)
    assert (card.bank(card.with_bank(local, wanted)) == 5).all()


def test_rows_are_within_what_was_swept_and_did_fail() -> None:
    for one in _drawn():
        words = one["seen"]["words"]
        assert 0 < len(words["rows"]) <= 3000
        assert len(words["rows"]) <= words["failing_total"]
        address, expected, got = (_column(words, at) for at in range(3))
        assert (address % np.uint64(4) == 0).all()
        assert address.max() < words["swept_bytes"] <= words["size_bytes"]
        assert (expected != got).all()
        assert max(expected.max(), got.max()) < 1 << 32
        for row in words["rows"][::97]:
            place, number = np.array([row[0]], dtype=np.uint64), np.array([row[4]])
            assert expected_of(row[3], place, number)[0] == row[1]


def test_rule_holds_for_all_that_are_not_stray() -> None:
    ruled = 0
    rng = np.random.default_rng(11)
    for one in _drawn():
        truth, words = one["truth"], one["seen"]["words"]
        if truth["rule"] is None or truth["pages_shuffled"]:
            continue
        ruled += 1
        keeps = _keeps(_column(words, 0), truth["rule"])
        least = 1 - MOST_STRAY - 1 / keeps.size if truth["sample"] == "stray" else 1
        assert keeps.mean() >= least
        if truth["sample"] == "stray":
            assert not keeps.all() or truth["memory_class"] == "address line"
        anywhere = rng.integers(0, words["swept_bytes"] // 4, 20_000, dtype=np.uint64)
        assert _keeps(anywhere * np.uint64(4), truth["rule"]).mean() < 0.25
    assert ruled > 40


def test_shuffled_pages_keep_the_rule_page_by_page() -> None:
    seen = 0
    for one in _drawn():
        truth, words = one["truth"], one["seen"]["words"]
        rule = truth["rule"]
        if rule is None or not truth["pages_shuffled"] or truth["sample"] == "stray":
            continue
        assert words["page_bytes"] == PAGE_BYTES
        assert rule["parities"] is None
        if rule.get("modulus", 1) > 1:
            assert rule["remainder"] is None
            continue
        address = _column(words, 0)
        for page in np.unique(address // np.uint64(PAGE_BYTES)):
            here = address[address // np.uint64(PAGE_BYTES) == page]
            seen += here.size > 1
            for mask in rule["masks"]:
                assert 0 < mask < PAGE_BYTES
                assert np.unique(parity(here, mask)).size == 1
    assert seen > 20


def test_data_line_touches_its_bit_alone() -> None:
    for one in _drawn():
        truth, words = one["truth"], one["seen"]["words"]
        if truth["memory_class"] != "data line" or truth["sample"] == "stray":
            assert (truth["bit"] is None) == (truth["memory_class"] != "data line")
            continue
        wrong = _column(words, 1) ^ _column(words, 2)
        assert set(wrong.tolist()) == {1 << truth["bit"]}


def test_address_line_reads_what_another_address_wrote() -> None:
    seen = 0
    for one in _drawn():
        truth, words = one["truth"], one["seen"]["words"]
        if truth["memory_class"] != "address line" or truth["sample"] == "stray":
            continue
        for row in words["rows"]:
            if row[3] == "address" and words["size_bytes"] <= 1 << 34:
                seen += 1
                assert row[2] * 4 < words["swept_bytes"]
            assert row[3] not in ("solid_zero", "solid_one", "hammer")
    assert seen > 20


def test_heat_follows_temperature_and_cells_do_not() -> None:
    for one in _drawn():
        if one["truth"]["memory_class"] == "cells" and one["truth"]["sample"] != "stray":
            assert np.unique(_column(one["seen"]["words"], 0)).size <= 20
    coldest = [
        min(row[5] for row in one["seen"]["words"]["rows"])
        for one in _drawn()
        if one["truth"]["memory_class"] == "heat" and one["truth"]["sample"] != "stray"
    ]
    assert len(coldest) > 4
    assert min(coldest) > 42


def test_supply_hits_many_bits_in_heavy_patterns() -> None:
    for one in _drawn():
        if one["truth"]["memory_class"] != "supply" or one["truth"]["sample"] != "300 words":
            continue
        rows = one["seen"]["words"]["rows"]
        heavy = sum(row[3] in ("hammer", "checker", "random") for row in rows)
        assert heavy / len(rows) > 0.7
        assert np.mean([(row[1] ^ row[2]).bit_count() for row in rows]) > 4


def test_patterns_are_words() -> None:
    address = np.arange(0, 400, 4, dtype=np.uint64)
    passes = np.zeros(address.size, dtype=np.int64)
    for pattern in PATTERNS:
        assert expected_of(pattern, address, passes).max() < 1 << 32
    assert (expected_of("address", address, passes) == address // np.uint64(4)).all()
