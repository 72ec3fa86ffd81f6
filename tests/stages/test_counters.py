"""Only differences of counters speak of a run."""

from __future__ import annotations

import json
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from burnin.card.capabilities import Counter
from burnin.core.meaning import Source
from burnin.stages.counters import difference, unmended_count
from burnin.stages.meanings import StagesReason


def counter(name: str, value: int, modulus: int | None = None, end: str = "card") -> Counter:
    return Counter(name, end, value, modulus, Source("test"))


@given(st.integers(0, 2**31), st.integers(0, 2**31 - 2))
def test_errors_are_differences_whatever_the_counter_began_at(start: int, rise: int) -> None:
    change = difference((counter("BadTLP", start),), (counter("BadTLP", start + rise),))
    assert change.errors == {"card BadTLP": rise}


@given(st.integers(0, 2**32 - 1), st.integers(0, 2**32 - 1))
def test_byte_counters_are_unwrapped_at_their_modulus(start: int, rise: int) -> None:
    before = counter("rx_bytes", start, 2**32)
    after = counter("rx_bytes", (start + rise) % 2**32, 2**32)
    assert difference((before,), (after,)).other == {"card rx_bytes": rise}


def test_an_error_counter_that_fell_has_restarted_and_says_nothing() -> None:
    change = difference((counter("RxErr", 17, 2**32),), (counter("RxErr", 3, 2**32),))
    assert change.errors == {}
    assert change.unusable == (
        StagesReason.COUNTER_RESTARTED(counter="card RxErr", first=17, last=3),
    )


def test_a_counter_read_only_once_is_named() -> None:
    change = difference((counter("RxErr", 1), counter("BadTLP", 0)), (counter("BadTLP", 0),))
    assert change.errors == {"card BadTLP": 0}
    assert change.unusable == (StagesReason.COUNTER_ONLY_BEFORE(counter="card RxErr"),)


def test_both_ends_are_kept_apart() -> None:
    before = (counter("RxErr", 0, end="card"), counter("RxErr", 5, end="port"))
    after = (counter("RxErr", 0, end="card"), counter("RxErr", 9, end="port"))
    assert difference(before, after).errors == {"card RxErr": 0, "port RxErr": 4}


def test_a_real_card_with_old_errors_has_no_new_ones(data: Path) -> None:
    # tests/data/link_counters.json: counters of a real card around a two-way copy of 1.2 TB.
    recorded = json.loads((data / "link_counters.json").read_text())

    def counters(moment: str) -> tuple[Counter, ...]:
        return tuple(
            counter(name, value, 2**32) for name, value in sorted(recorded[moment].items())
        )

    change = difference(counters("before"), counters("after"))
    assert sum(recorded["before"].values()) > 0
    assert sum(change.errors.values()) == 0
    assert set(change.other) == {"card RX_BYTES", "card TX_BYTES", "card L0_TO_RECOVERY"}


def test_a_counter_that_broke_off_is_named_apart() -> None:
    before = (counter("bad TLP", 9), counter("bad DLLP", 2**32 - 1), counter("LCRC error", 4))
    after = (counter("bad TLP", 2), counter("bad DLLP", 2**32 - 1))
    change = difference(before, after)
    assert change.errors == {}
    assert change.broken == {
        "card bad TLP": StagesReason.COUNTER_RESTARTED(counter="card bad TLP", first=9, last=2),
        "card bad DLLP": StagesReason.COUNTER_FULL(counter="card bad DLLP", last=2**32 - 1),
        "card LCRC error": StagesReason.COUNTER_ONLY_BEFORE(counter="card LCRC error"),
    }
    assert set(change.unusable) == set(change.broken.values())


def test_bits_that_still_stand_are_counted_again_by_the_kernel_and_not_by_us() -> None:
    """As Linux 6.1 counted three errors, one after the other, whose driver cannot recover."""
    rises = {
        "card poisoned TLP (non-fatal)": 3,
        "card completion timeout (non-fatal)": 2,
        "card unsupported request (non-fatal)": 1,
        "port completer abort (non-fatal)": 1,
        "port surprise down (fatal)": 2,
        "card bad TLP (correctable)": 9,
    }
    assert unmended_count(rises) == 3 + 1 + 2
    assert unmended_count({"card bad TLP (correctable)": 9}) == 0
