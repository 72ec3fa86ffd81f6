"""What a ramp does while a warning stands, decided by the guard's own forecast of one block."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from burnin.guard.forecast_guard import ForecastGuard
from burnin.guard.warning import StandingWarning
from burnin.stages.thermal_ramp.hold_back import (
    LOOKS_EVERY_S,
    LOWERED_BY,
    NEAR_S,
    SAFE_BELOW,
    Act,
    Choice,
    HoldBack,
)
from burnin.stages.thermal_ramp.on_warning import OnWarning
from burnin.thermal.inputs import Limits, Plan, Row, Setup, plan_of
from tests.thermal.cards import DRY, LOOP_LIKE, OneBlock

HELD_W, STEP_S, IDLE_W = 250.0, 240.0, 20.0
LIMIT_C = 90.0
STEPS = ((0.0, IDLE_W), (3.0, HELD_W))


class Warned:
    """A block under one step whose guard has seen it until a warning stood, or for 60 s."""

    def __init__(self, block: OneBlock = DRY) -> None:
        setup = Setup(Limits(LIMIT_C), plan_of(STEPS, STEP_S), ambient_c=24.0, has_fan=False)
        self.guard = ForecastGuard(setup)
        self.rows = block.rows(STEPS, STEP_S)
        self.row = Row(0.0, 0.0, 24.0)
        for _ in range(600):
            self.see()
            if self.guard.warning is not None:
                break
        self.warning = self.guard.warning

    def see(self) -> None:
        self.row = next(self.rows)
        assert self.guard.see(self.row) is None

    def back(self, **may: float) -> HoldBack:
        return HoldBack(OnWarning.model_validate(may), self.guard, IDLE_W)

    def choices(self, back: HoldBack, seconds: float) -> list[Choice]:
        """Its choices while the load goes on, until it does something."""
        found: list[Choice] = []
        for _ in range(round(seconds * 10)):
            now_s = self.row.time_s
            found.append(back.see(now_s, self.warning, HELD_W, STEP_S - now_s, STEP_S))
            if found[-1].act not in (Act.GO, Act.HOLD):
                break
            self.see()
        return found


def acts(found: Sequence[Choice]) -> list[Act]:
    return [choice.act for choice in found]


@pytest.fixture
def dry() -> Warned:
    found = Warned()
    assert found.warning is not None
    return found


def test_it_waits_as_long_as_it_may_and_no_longer(dry: Warned) -> None:
    back = dry.back(wait_at_most_s=6.0, rest_at_most_s=0.0, step_down_to_share=1.0)
    found = acts(dry.choices(back, 30.0))
    assert set(found[:-1]) == {Act.HOLD}
    assert found[-1] is Act.END
    assert len(found) / 10.0 == pytest.approx(6.0, abs=1.5)
    assert back.waited_s == pytest.approx(6.0, abs=LOOKS_EVERY_S)


def test_a_limit_that_is_near_ends_the_wait(dry: Warned) -> None:
    back = dry.back(wait_at_most_s=3600.0, rest_at_most_s=0.0, step_down_to_share=1.0)
    assert acts(dry.choices(back, 200.0))[-1] is Act.END
    assert DRY.crossing_s(STEPS, LIMIT_C) - dry.row.time_s < 1.6 * NEAR_S


def test_it_steps_down_once_as_far_as_its_forecast_asks_and_it_may(dry: Warned) -> None:
    back = dry.back(wait_at_most_s=0.0, rest_at_most_s=0.0, step_down_to_share=0.05)
    now_s = dry.row.time_s
    [lowered] = dry.choices(back, 5.0)
    assert lowered.act is Act.LOWER

    def crosses(share: float) -> float:
        lower_w = IDLE_W + share * (HELD_W - IDLE_W)
        return dry.guard.watch.what_if(Plan(((now_s, lower_w),), STEP_S)).any_probability

    assert crosses(lowered.share) < SAFE_BELOW <= crosses(lowered.share + LOWERED_BY)
    assert acts(dry.choices(back, 60.0))[-1] in (Act.HOLD, Act.END)  # never a second time
    short = dry.back(wait_at_most_s=0.0, rest_at_most_s=0.0, step_down_to_share=0.95)
    assert acts(dry.choices(short, 5.0))[-1] is Act.END


def test_it_rests_where_the_whole_step_is_safe_after_it_and_only_there(dry: Warned) -> None:
    now_s = dry.row.time_s

    def act(whole_s: float, rest_s: float) -> Act:
        back = dry.back(wait_at_most_s=0.0, rest_at_most_s=rest_s, step_down_to_share=1.0)
        return back.see(now_s, dry.warning, HELD_W, STEP_S - now_s, whole_s).act

    assert act(STEP_S, 600.0) is Act.END  # the block keeps its heat: four minutes stay unsafe
    assert act(20.0, 600.0) is Act.REST
    assert act(20.0, 0.0) is Act.END


def test_without_a_warning_it_lets_the_ramp_go_on() -> None:
    sound = Warned(LOOP_LIKE)
    assert sound.warning is None
    back = sound.back(wait_at_most_s=0.0)
    assert set(acts(sound.choices(back, 20.0))) == {Act.GO}
    assert (back.waited_s, back.because) == (0.0, None)


def test_a_next_step_that_would_warn_is_not_begun(dry: Warned) -> None:
    class Looks:
        """What a watch shows between two steps."""

        warning: StandingWarning | None = None

        def elapsed_s(self) -> float:
            return dry.row.time_s

    back = dry.back(wait_at_most_s=2.0, step_down_to_share=1.0)
    looks = Looks()
    choices = [
        back.before_next(looks, HELD_W, 2.0 * HELD_W, STEP_S).act  # type: ignore[arg-type]
        for _ in range(4)
    ]
    assert choices == [Act.HOLD, Act.HOLD, Act.END, Act.END]
    assert back.because is not None
    assert back.before_next(looks, HELD_W, 0.5 * HELD_W, STEP_S).act is Act.GO  # type: ignore[arg-type]
