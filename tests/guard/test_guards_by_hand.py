"""What each simple guard says when it ends a load, and to the sample when: written out by hand."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import pytest

from burnin.card.meanings import CardReason
from burnin.core.reading import NotMeasured, ReadingReason
from burnin.core.sample import Sample, Telemetry
from burnin.guard.guard import Expectation, Guard, Trip
from burnin.guard.guard_set import FittedGuard, GuardSet
from burnin.guard.liveness import LOST_CARD, STALE_DATA, LostCard, StaleData
from burnin.guard.meanings import GuardCause, GuardCheck, GuardNote, GuardReason, GuardTerm
from burnin.guard.temperature_limit import TemperatureLimit

UNREAD = NotMeasured(ReadingReason.NOT_READ())
SILENT = NotMeasured(CardReason.NO_ANSWER(seconds=0.5))
STALE_S = 5.0


def row(at_s: float, load: float = 1.0, /, **told: object) -> Sample:
    return Sample(at_s, "", "x", Telemetry(**told), load)  # type: ignore[arg-type]


def away(at_s: float, **told: object) -> Sample:
    """A row of a card that does not answer."""
    return replace(row(at_s, **told), present=False)


def judged(guard: Guard | GuardSet, rows: Sequence[Sample]) -> tuple[float | None, Trip | None]:
    """When the guard ended the load, and what it said."""
    for one in rows:
        trip = guard.judge(one)
        if trip is not None:
            return one.elapsed_s, trip
    return None, None


# ---- a card that is gone, data that are stale


def test_a_card_that_is_gone() -> None:
    assert LostCard().judge(row(1.0)) is None
    assert LostCard().judge(away(1.0)) == Trip(
        "lost card", "present", None, None, GuardReason.CARD_GONE(),
        GuardCause.CARD_OR_SUPPLY(), GuardCheck.EDGE_AND_PLUGS(),
    )  # fmt: skip
    assert LostCard().expectation() is None
    assert (LOST_CARD.name, LOST_CARD.place) == ("lost_card", 10)


def stale(value: float, reason: object, limit: float = STALE_S) -> Trip:
    return Trip(
        "stale data", "gpu_temp_c", value, limit, reason,  # type: ignore[arg-type]
        GuardCause.DRIVER_OR_SENSOR(), GuardCheck.DRIVER(),
    )  # fmt: skip


def unread(at_s: float, load: float = 1.0, /, **told: object) -> Sample:
    return row(at_s, load, **{"gpu_temp_c": UNREAD, **told})


def test_a_temperature_that_is_unread_under_load_ends_it_after_the_time_and_not_before() -> None:
    because = ReadingReason.NOT_READ()
    rows = [row(0.0, gpu_temp_c=50.0), *(unread(float(n)) for n in range(1, 9))]
    at_s, trip = judged(StaleData(STALE_S), rows)
    # read last at 0 s: at 5 s it is as old as is allowed, at 6 s older
    assert at_s == 6.0
    assert trip == stale(
        6.0, GuardReason.TEMPERATURE_UNREAD(age_s=6.0, allowed_s=5.0, because=because)
    )
    assert StaleData(STALE_S).expectation() is None
    assert (STALE_DATA.name, STALE_DATA.place) == ("stale_data", 20)


def test_what_warms_nothing_goes_on_unseen_and_the_time_begins_with_the_load() -> None:
    guard = StaleData(STALE_S)
    assert judged(guard, [unread(float(n), 0.0) for n in range(60)]) == (None, None)
    at_s, _ = judged(guard, [unread(60.0 + n) for n in range(9)])
    assert at_s == 65.0  # seen last, as far as a load is concerned, at 59 s


def test_a_load_in_watts_is_a_load_too() -> None:
    rows = [replace(unread(float(n), 0.0), load_w=200.0) for n in range(9)]
    assert judged(StaleData(STALE_S), rows)[0] == 6.0


@pytest.mark.parametrize("other", ["hotspot_temp_c", "memory_temp_c"])
def test_a_card_that_never_told_its_gpu_is_watched_by_another_temperature(other: str) -> None:
    rows = [unread(float(n), **{other: 60.0 + n}) for n in range(20)]
    assert judged(StaleData(STALE_S), rows) == (None, None)
    told_once = [row(0.0, gpu_temp_c=50.0), *rows[1:]]
    assert judged(StaleData(STALE_S), told_once)[0] == 6.0


def test_a_gap_between_samples_of_a_load_ends_it() -> None:
    calm = {"gpu_temp_c": 50.0}
    assert judged(StaleData(STALE_S), [row(0.0, **calm), row(5.0, **calm)]) == (None, None)
    at_s, trip = judged(StaleData(STALE_S), [row(0.0, **calm), row(5.5, **calm)])
    assert at_s == 5.5
    assert trip == stale(5.5, GuardReason.NO_SAMPLE(gap_s=5.5, allowed_s=5.0))
    for first, second in ((0.0, 1.0), (1.0, 0.0), (0.0, 0.0)):
        rows = [row(0.0, first, **calm), row(60.0, second, **calm)]
        assert judged(StaleData(STALE_S), rows) == (None, None)


def test_a_driver_that_hangs_ends_a_load_at_once_and_none_where_there_is_none() -> None:
    hung = replace(row(1.0, gpu_temp_c=SILENT), read_s=0.5)
    assert StaleData(STALE_S).judge(hung) == stale(
        0.5, GuardReason.SENSORS_HANG(because=SILENT.reason)
    )
    assert StaleData(STALE_S).judge(replace(hung, load_share=0.0)) is None


MOVING = {"power_w": 200.0, "gpu_temp_c": 50.0, "hotspot_temp_c": 60.0, "memory_temp_c": 55.0,
          "energy_j": 1000.0}  # fmt: skip


def test_sensors_that_stand_still_together_end_a_load_after_twice_the_time() -> None:
    at_s, trip = judged(StaleData(STALE_S), [row(float(n), **MOVING) for n in range(15)])
    assert at_s == 11.0
    assert trip == stale(11.0, GuardReason.NOTHING_MOVES(age_s=11.0, allowed_s=10.0), 10.0)


@pytest.mark.parametrize("moves", sorted(MOVING))
def test_one_value_that_moves_shows_that_sensors_live(moves: str) -> None:
    rows = [row(float(n), **{**MOVING, moves: MOVING[moves] + n % 2}) for n in range(40)]
    assert judged(StaleData(STALE_S), rows) == (None, None)


def test_sensors_may_stand_still_at_rest_and_without_a_power_sensor() -> None:
    assert judged(StaleData(STALE_S), [row(float(n), 0.0, **MOVING) for n in range(40)])[0] is None
    bare = {**MOVING, "power_w": UNREAD}
    assert judged(StaleData(STALE_S), [row(float(n), **bare) for n in range(40)])[0] is None
    # a rest in between begins the time anew
    rows = [row(float(n), 0.0 if n == 9 else 1.0, **MOVING) for n in range(20)]
    assert judged(StaleData(STALE_S), rows) == (None, None)


# ---- a temperature near its limit


def limit(**more: float) -> TemperatureLimit:
    said = {"margin_c": 2.0, "lag_s": 1.0, "latency_s": 0.1, "step_c": 1.0, **more}
    return TemperatureLimit("gpu_temp_c", 90.0, **said)


def test_a_temperature_at_its_limit_less_margin_and_half_a_step_ends_the_load() -> None:
    assert limit().judge(row(0.0, gpu_temp_c=87.4)) is None
    assert limit().judge(row(0.0, gpu_temp_c=UNREAD)) is None
    assert limit().judge(row(0.0, gpu_temp_c=87.5)) == Trip(
        "GPU limit", "gpu_temp_c", 87.5, 90.0,
        GuardReason.NEAR_LIMIT(
            signal=GuardTerm.GPU(), temp_c=87.5, rise_k_per_s=0.0, margin_k=2.0, limit_c=90.0
        ),
        GuardCause.COOLING_OR_MOUNT(), GuardCheck.COOLING(),
    )  # fmt: skip


def test_a_temperature_that_falls_counts_as_it_is() -> None:
    guard = limit(step_c=0.0, margin_c=0.0)
    for n in range(60):
        assert guard.judge(row(n / 10.0, gpu_temp_c=95.0 - n / 10.0 - 6.0)) is None
    assert guard.judge(row(6.0, gpu_temp_c=90.0)) is not None


@pytest.mark.parametrize(
    ("signal", "name", "term"),
    [
        ("gpu_temp_c", "GPU limit", GuardTerm.GPU), ("hotspot_temp_c", "hot spot limit",
         GuardTerm.HOT_SPOT), ("memory_temp_c", "memory limit", GuardTerm.MEMORY),
    ],
)  # fmt: skip
def test_each_limit_has_its_name_and_its_signal(signal: str, name: str, term: GuardTerm) -> None:
    guard = TemperatureLimit(signal, 90.0, margin_c=0.0, lag_s=0.0, latency_s=0.0, step_c=0.0)
    assert guard.name == name
    trip = guard.judge(row(0.0, **{signal: 90.0}))
    assert trip is not None
    assert (trip.guard, trip.signal, trip.reason["signal"]) == (name, signal, term())


@pytest.mark.parametrize("wrong", ["margin_c", "lag_s", "latency_s"])
def test_a_margin_below_nothing_is_refused(wrong: str) -> None:
    with pytest.raises(ValueError, match="gpu_temp_c: margin, lag and latency"):
        limit(**{wrong: -0.1})
    limit(**{wrong: 0.0})


def test_what_is_near_is_foreseen_with_its_room_and_its_time() -> None:
    guard = limit()
    assert guard.expectation() is None
    for n in range(200):
        guard.judge(row(n / 10.0, gpu_temp_c=50.0 + 0.05 * n))  # half a kelvin a second
    room_k = 88.0 - (50.0 + 0.05 * 199)
    found = guard.expectation()
    assert found is not None
    assert found.crossing_in_s == pytest.approx(room_k / 0.5)
    assert (found.guard, found.signal, found.limit) == ("GPU limit", "gpu_temp_c", 90.0)
    assert found.forecast.means(GuardNote.NEARING)
    assert found.forecast["room_k"] == pytest.approx(room_k)


@pytest.mark.parametrize(("rise_k_per_s", "nearing"), [(0.0, False), (0.029, False), (0.06, True)])
def test_what_is_far_off_is_not_told_as_near(rise_k_per_s: float, nearing: bool) -> None:
    """Less than 0.03 K/s is no rise, and more than a quarter of an hour is not foreseen."""
    guard = limit()
    for n in range(300):
        guard.judge(row(n / 10.0, gpu_temp_c=50.0 + rise_k_per_s * n / 10.0))
    found = guard.expectation()
    assert found is not None
    assert (found.crossing_in_s is not None) == nearing
    if not nearing:
        told = found.forecast
        assert found == Expectation("GPU limit", "gpu_temp_c", 90.0, None, told)
        assert told.means(GuardNote.NOT_NEARING)
        assert told["signal"] == GuardTerm.GPU()
        assert told["room_k"] == pytest.approx(88.0 - (50.0 + rise_k_per_s * 29.9))


# ---- the set


class Fixed:
    """A guard that answers alike to every row, and keeps what it saw."""

    def __init__(self, name: str, trip: Trip | None, expects: Expectation | None = None) -> None:
        self.name, self._trip, self._expects = name, trip, expects
        self.seen: list[Sample] = []

    def judge(self, sample: Sample) -> Trip | None:
        self.seen.append(sample)
        return self._trip

    def expectation(self) -> Expectation | None:
        return self._expects


def expects(name: str, in_s: float | None) -> Expectation:
    return Expectation(name, "gpu_temp_c", 90.0, in_s, GuardNote.NOT_NEARING(room_k=1.0, signal=""))


def test_the_first_guard_of_the_order_ends_the_load() -> None:
    first, second = (stale(1.0, GuardReason.CARD_GONE()), stale(2.0, GuardReason.CARD_GONE()))
    guards = [Fixed("none", None), Fixed("a", first), Fixed("b", second)]
    made = GuardSet([FittedGuard(g.name, g, {}) for g in guards])
    assert made.judge(row(0.0)) is first
    assert [len(guard.seen) for guard in guards] == [1, 1, 0]
    assert made.guards == tuple(guards)
    assert GuardSet().judge(row(0.0)) is None


def test_of_all_that_is_expected_the_nearest_is_told() -> None:
    def told(*found: Expectation | None) -> Expectation | None:
        guards = [Fixed(str(n), None, one) for n, one in enumerate(found)]
        return GuardSet([FittedGuard(g.name, g, {}) for g in guards]).expectation()

    far, near, never = expects("far", 90.0), expects("near", 0.0), expects("never", None)
    assert told() is None
    assert told(None, never) is never
    assert told(never, far, near) is near
    assert told(far, None, never) is far


def blind_set(*needs: str, patience_s: float = 5.0) -> GuardSet:
    return GuardSet([FittedGuard("kind", Fixed("it", None), {}, needs)], patience_s)


def test_a_guard_that_is_told_its_signal_no_more_ends_the_load_by_its_patience() -> None:
    rows = [row(0.0, gpu_temp_c=50.0), *(row(float(n), gpu_temp_c=UNREAD) for n in range(1, 10))]
    at_s, trip = judged(blind_set("gpu_temp_c"), rows)
    assert at_s == 7.0  # blind from 1 s on: for 5 s at 6 s, for more at 7 s
    assert trip == Trip(
        "it", "gpu_temp_c", 6.0, 5.0,
        GuardReason.BLIND(
            signal=GuardTerm.GPU(), blind_s=6.0, allowed_s=5.0, because=UNREAD.reason
        ),
        GuardCause.DRIVER_OR_SENSOR(), GuardCheck.DRIVER(),
    )  # fmt: skip


def test_what_was_never_offered_blinds_nobody_and_what_answers_wrongly_does() -> None:
    rows = [row(float(n), gpu_temp_c=UNREAD) for n in range(30)]
    assert judged(blind_set("gpu_temp_c"), rows) == (None, None)
    wrong = [row(float(n), gpu_temp_c=math.nan) for n in range(30)]
    assert judged(blind_set("gpu_temp_c"), wrong)[0] == 6.0


def test_a_rest_a_gone_card_and_sight_regained_begin_the_patience_anew() -> None:
    for between in (
        row(4.0, 0.0, gpu_temp_c=UNREAD), row(4.0, gpu_temp_c=50.0),
    ):  # fmt: skip
        rows = [row(0.0, gpu_temp_c=50.0)]
        rows += [row(float(n), gpu_temp_c=UNREAD) for n in range(1, 4)]
        rows += [between, *(row(float(n), gpu_temp_c=UNREAD) for n in range(5, 20))]
        assert judged(blind_set("gpu_temp_c"), rows)[0] == 11.0
    gone = [row(0.0, gpu_temp_c=50.0)]
    gone += [away(float(n), gpu_temp_c=UNREAD) for n in range(1, 20)]
    assert judged(blind_set("gpu_temp_c"), gone) == (None, None)


@pytest.mark.parametrize(
    ("needs", "told", "watched"),
    [
        (("gpu_temp_c",), {"gpu_temp_c": 50.0}, True),
        (("gpu_temp_c",), {"hotspot_temp_c": 50.0}, False),
        (("gpu_temp_c", "hotspot_temp_c"), {"hotspot_temp_c": 50.0}, True),
        (("power_w",), {"power_w": 50.0}, False),
        ((), {"gpu_temp_c": 50.0}, False),
    ],
)
def test_a_load_needs_a_temperature_that_some_guard_watches(
    needs: tuple[str, ...], told: dict[str, float], watched: bool
) -> None:
    seen = Telemetry(**{"gpu_temp_c": UNREAD, "hotspot_temp_c": UNREAD, **told})  # type: ignore[arg-type]
    assert blind_set(*needs).can_watch(seen) is watched


def test_settings_are_told_by_kind_and_numbered_where_there_are_several() -> None:
    fitted = [FittedGuard("a", Fixed("x", None), {"n": n}) for n in (1, 2, 3)]
    fitted.append(FittedGuard("b", Fixed("y", None), {"n": 4}))
    assert GuardSet(fitted).settings() == {
        "a": {"n": 1}, "a 2": {"n": 2}, "a 3": {"n": 3}, "b": {"n": 4},
    }  # fmt: skip
