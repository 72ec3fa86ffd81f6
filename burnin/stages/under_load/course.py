"""The course at a held power: it settles, then one point after the other is asked for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from typing import Protocol

from burnin.card.capabilities import DetectsDisplays, TellsRatings
from burnin.core.meaning import Reason
from burnin.core.reading import NotMeasured, Reading, known
from burnin.core.sample import Sample
from burnin.profile.under_load import UnderLoadPoint
from burnin.stages.context import StageContext
from burnin.stages.standing_prompt import Question
from burnin.stages.under_load.asked import (
    Answer,
    Held,
    missing,
    name_of,
    prompt_of,
    read_answer,
    reading_of,
)
from burnin.stages.under_load.forms import form_at
from burnin.stages.under_load.meanings import UnderLoadNote, UnderLoadReason
from burnin.stages.under_load.power_seen import PowerSeen
from burnin.stages.under_load.sense import Around, screen_there
from burnin.stages.under_load.settings import UnderLoad

_ARRIVES_WITHIN_S = 30.0
"""An engine makes its kernels and a power is raised softly within that (estimate)."""


class Needs(TellsRatings, DetectsDisplays, Protocol):
    """What is asked of a card while it is measured."""


class Course:
    """Asks as samples come; power is that of the samples while a prompt stood."""

    def __init__(
        self,
        context: StageContext[Needs],
        settings: UnderLoad,
        points: Sequence[UnderLoadPoint],
        power_w: float,
    ) -> None:
        self._context, self._settings, self._power_w = context, settings, power_w
        self._todo = [*points]
        self._all_count = len(points)
        self.any_measured = not all(self._may_be_left_out(point) for point in points)
        self._point: UnderLoadPoint | None = None
        self._question: Question[Answer] | None = None
        self._seen = PowerSeen(power_w)
        self._coldest_c: float | None = None
        self._screen_before: bool | NotMeasured | None = None
        self._began_s = context.clock.monotonic_s()
        self._settled_s: float | None = None

    @property
    def done(self) -> bool:
        """Whether nothing is left to ask."""
        return not self._todo and self._question is None

    def longest_s(self) -> float:
        """How long all of it takes at most."""
        asking_s = self._all_count * self._settings.prompt_timeout_s
        return _ARRIVES_WITHIN_S + self._settings.settle_s + asking_s

    def on_sample(self, sample: Sample) -> bool:
        """Look at the prompt that stands, and put the next; True: all is done."""
        power_w, temp_c = known(sample.telemetry.power_w), known(sample.telemetry.gpu_temp_c)
        if temp_c is not None:
            before_c = self._coldest_c
            self._coldest_c = temp_c if before_c is None else min(temp_c, before_c)
        if not self._settled(power_w):
            return False
        if self._question is not None:
            self._seen.see(sample)
            answer = self._question.look()
            if answer is None:
                return False
            self._file(answer)
            self._question = None
        if self._todo:
            self._ask(self._todo.pop(0))
        return self.done

    def _settled(self, power_w: float | None) -> bool:
        """Whether the power has stood for so long that joints are warm.

        Where it never comes to what was asked for, or cannot be told, that is waited for no longer
        than it may take: whatever is measured then is judged by the power that was held.
        """
        now_s, settings = self._context.clock.monotonic_s(), self._settings
        if self._settled_s is None:
            least_w = (1.0 - settings.power_within_share) * self._power_w
            arrived = power_w is not None and power_w >= least_w
            if arrived or now_s - self._began_s >= _ARRIVES_WITHIN_S:
                self._settled_s = now_s + settings.settle_s
        whole_s = settings.settle_s
        left_s = whole_s if self._settled_s is None else self._settled_s - now_s
        if left_s > 0.0:
            note = UnderLoadNote.SETTLING(power_w=self._power_w)
            self._context.progress(whole_s - left_s, whole_s, "s", note)
        return left_s <= 0.0

    def end(self, why: Reason) -> None:
        """The load ends before its time: the prompt is taken away."""
        if self._question is not None:
            self._file(self._question.withdraw(why))
            self._question = None

    def readings(self, why: Reason) -> Iterator[Reading]:
        """Those of points that were never reached, and `why`; all others are taken already."""
        for point in self._todo:
            yield missing(point, UnderLoadReason.NOT_REACHED(reason=why))

    def _may_be_left_out(self, point: UnderLoadPoint) -> bool:
        return not point.required or name_of(point) in self._context.optional

    def _ask(self, point: UnderLoadPoint) -> None:
        context, settings = self._context, self._settings
        done = float(self._all_count - len(self._todo) - 1)
        note = UnderLoadNote.MEASURING(title=point.title)
        context.progress(done, float(self._all_count), "", note)
        self._point, self._seen = point, PowerSeen(self._power_w)
        self._screen_before = screen_there(context.card)
        self._question = Question(
            context.prompter,
            context.clock,
            form_at(point).at(int(done) + 1, self._all_count).on(prompt_of(point)),
            settings.prompt_timeout_s,
            partial(read_answer, point, settings),
            self._file,
        )

    def _file(self, answer: Answer | NotMeasured) -> None:
        """Take the reading of the point at hand, once: as its answer is heard, before all else."""
        point, self._point = self._point, None
        if point is None:
            return
        around = Around(self._coldest_c, self._screen_before, screen_there(self._context.card))
        if isinstance(answer, NotMeasured):
            self._context.take(missing(point, around.nothing_to_see(point) or answer.reason))
            return
        assert self._question is not None  # whose answer this is
        within_share, stood_s = self._settings.power_within_share, self._question.stood_s
        held = Held(self._seen.mean_w(), self._power_w, within_share, stood_s)
        reading = self._context.take(reading_of(point, answer, held, around))
        self.any_measured = self.any_measured or reading.value is not None
