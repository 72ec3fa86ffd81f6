"""Which counters tell of one event: read against the fact sheet's signatures 7 and 8."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burnin.card.sources.link import AER_NAMES
from burnin.card.sources.nvml_values import LINK_COUNTERS
from burnin.core.meaning import Reason
from burnin.core.reading import NotMeasured
from burnin.stages.counters import WayErrors, errors_by_direction, not_of_the_wire, uncorrected
from burnin.stages.error_table import NOT_ERRORS, Side, Told, kind_of, way_of

RECEIVED = ("bad TLP", "LCRC error", "NAKs sent", "bad DLLP", "receiver error")
SENT = ("NAKs received", "replays", "replay number rollover", "replay timer timeout")
SEEN_AT_CARD = ("card bad TLP", "card receiver error", "port NAKs received")


def events(errors: dict[str, int]) -> dict[str, WayErrors]:
    found = errors_by_direction(errors)
    assert not any(isinstance(way, NotMeasured) for way in found.values())
    return {way: e for way, e in found.items() if isinstance(e, WayErrors)}


@pytest.mark.parametrize("name", RECEIVED)
@pytest.mark.parametrize(("end", "way"), [("card", "to_card"), ("port", "to_host")])
def test_a_receiver_speaks_of_the_way_to_it(end: str, way: str, name: str) -> None:
    kind = kind_of(f"{end} {name} (correctable)")
    assert kind is not None
    assert kind.side is Side.RECEIVER
    assert way_of(end, kind) == way


@pytest.mark.parametrize("name", SENT)
@pytest.mark.parametrize(("end", "way"), [("card", "to_host"), ("port", "to_card")])
def test_a_sender_speaks_of_the_way_from_it(end: str, way: str, name: str) -> None:
    kind = kind_of(f"{end} {name}")
    assert kind is not None
    assert kind.side is Side.SENDER
    assert way_of(end, kind) == way


def test_every_counter_of_every_source_has_its_place() -> None:
    names = [f"{name} (correctable)" for name in set(AER_NAMES.values())]
    names += [c.name for c in LINK_COUNTERS if not any(p in c.name.lower() for p in NOT_ERRORS)]
    correctable = {"receiver error", "bad TLP", "bad DLLP", "replay number rollover",
                   "replay timer timeout", "advisory non-fatal", "corrected internal",
                   "header log overflow"}  # fmt: skip
    for name in names:
        if name.endswith("(correctable)") and name.split(" (")[0] not in correctable:
            continue
        assert kind_of(name) is not None, name


@given(st.dictionaries(st.sampled_from(RECEIVED), st.integers(0, 1000), min_size=1))
def test_no_event_is_counted_twice_and_none_is_lost(told: dict[str, int]) -> None:
    counts = {"bad TLP": 0, **told}
    errors = {f"card {name}": count for name, count in counts.items()} | {"port bad TLP": 0}
    found = events(errors)["to_card"]
    assert found.at_least == max(counts.values())
    assert found.at_least <= found.at_most <= sum(counts.values())


def test_packets_and_link_messages_are_events_apart_at_most() -> None:
    errors = {"card bad TLP": 3, "card bad DLLP": 2, "card receiver error": 4, "port bad TLP": 0}
    assert events(errors)["to_card"] == WayErrors(4, 5)


def test_a_sum_is_no_event_and_unknown_errors_are_not_lost() -> None:
    errors = {"card bad TLP": 0, "port bad TLP": 0, "card correctable errors": 9,
              "card TOTAL_ERR_COR": 9, "card odd thing": 2, "card advisory non-fatal": 1,
              "card malformed TLP (fatal)": 1}  # fmt: skip
    assert events(errors) == {"to_card": WayErrors(0, 0), "to_host": WayErrors(0, 0)}
    assert not_of_the_wire(errors) == {"card odd thing": 2, "card advisory non-fatal": 1}
    assert uncorrected(errors) == {"card malformed TLP (fatal)": 1}


def test_what_sees_lost_answers_only_shows_no_zero() -> None:
    found = errors_by_direction({"card replay timer timeout": 0, "card bad TLP": 0})
    assert found["to_card"] == WayErrors(0, 0)
    assert isinstance(found["to_host"], NotMeasured)


@pytest.mark.parametrize("counter", SEEN_AT_CARD)
def test_one_counter_that_broke_off_leaves_its_way_unmeasured(counter: str) -> None:
    errors = {name: 0 for name in (*SEEN_AT_CARD, "port bad TLP") if name != counter}
    why = Reason("test")
    found = errors_by_direction(errors, {counter: why})
    assert found["to_card"] == NotMeasured(why)
    assert found["to_host"] == WayErrors(0, 0)


def test_a_broken_sum_breaks_nothing() -> None:
    found = errors_by_direction({"card bad TLP": 0}, {"card correctable errors": Reason("test")})
    assert found["to_card"] == WayErrors(0, 0)
    kind = kind_of("card correctable errors")
    assert kind is not None
    assert kind.told is Told.SUM
