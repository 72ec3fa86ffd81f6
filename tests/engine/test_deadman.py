"""The switch's rules on a clock of its own; the process tests show that they reach the card."""

from __future__ import annotations

import threading

from burnin.engine.process.dead_man_switch import (
    END_AFTER_S,
    PAUSE_AFTER_S,
    STUCK_AFTER_S,
    DeadManSwitch,
)


class Hands:
    now_s = 100.0

    def __call__(self) -> float:
        return self.now_s


def test_a_job_with_beats_goes_on() -> None:
    clock = Hands()
    switch = DeadManSwitch(clock)
    switch.job_begins()
    for _ in range(100):
        clock.now_s += PAUSE_AFTER_S * 0.9
        assert not switch.must_end()
        switch.beat()
        assert switch.may_go_on(0.0)


def test_without_a_job_nobody_needs_to_beat() -> None:
    clock = Hands()
    switch = DeadManSwitch(clock)
    clock.now_s += 3600.0
    assert not switch.must_end()
    switch.job_begins()
    assert not switch.must_end()
    switch.job_ended()
    clock.now_s += 3600.0
    assert not switch.must_end()


def test_a_missing_heart_ends_the_worker() -> None:
    clock = Hands()
    switch = DeadManSwitch(clock)
    switch.job_begins()
    clock.now_s += END_AFTER_S * 1.01
    assert switch.must_end()


def test_a_late_beat_holds_the_next_slice_until_it_comes() -> None:
    clock = Hands()
    switch = DeadManSwitch(clock)
    switch.job_begins()
    clock.now_s += PAUSE_AFTER_S * 1.01
    answers: list[bool] = []
    waiting = threading.Thread(target=lambda: answers.append(switch.may_go_on(0.0)))
    waiting.start()
    waiting.join(0.05)
    assert answers == []
    switch.beat()
    waiting.join(5.0)
    assert answers == [True]


def test_a_stop_is_heard_while_resting_and_while_waiting_for_a_beat() -> None:
    clock = Hands()
    for late_s, rest_s in ((0.0, 1000.0), (PAUSE_AFTER_S * 2, 0.0)):
        switch = DeadManSwitch(clock)
        switch.job_begins()
        clock.now_s += late_s
        answers: list[bool] = []
        waiting = threading.Thread(
            target=lambda s=switch, r=rest_s, a=answers: a.append(s.may_go_on(r))
        )
        waiting.start()
        switch.stop()
        waiting.join(5.0)
        assert answers == [False]


def test_a_new_job_forgets_the_stop_of_the_last() -> None:
    switch = DeadManSwitch(Hands())
    switch.job_begins()
    switch.stop()
    assert not switch.may_go_on(0.0)
    switch.job_begins()
    assert switch.may_go_on(0.0)


def test_a_slice_that_does_not_end_is_noticed() -> None:
    clock = Hands()
    switch = DeadManSwitch(clock)
    switch.job_begins()
    switch.working(True)
    assert not switch.stuck()
    clock.now_s += STUCK_AFTER_S * 1.01
    assert switch.stuck()
    switch.working(False)
    assert not switch.stuck()
