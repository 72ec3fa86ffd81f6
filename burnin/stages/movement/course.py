"""The course of the movements: one prompt at a time, each event laid to what was moved then."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from burnin.core.answers.form import DONE
from burnin.core.meaning import Reason, Term, distinct
from burnin.core.reading import Limit, NotMeasured, Reading, judge, not_measured
from burnin.core.sample import Sample
from burnin.stages.context import StageContext
from burnin.stages.movement.looks import Looks, Needs
from burnin.stages.movement.meanings import (
    MovementEvent,
    MovementNote,
    MovementReason,
    MovementSource,
)
from burnin.stages.movement.places import UNTOUCHED, Place, read_done
from burnin.stages.movement.settings import Movement
from burnin.stages.standing_prompt import Question

_LEAST_MOVED_S = 1.5
"""Nobody reaches for a card and moves it within less (estimate)."""
_LEAST_STILL_S = 0.5
"""A card that was left alone for less was watched by nobody: a few samples (estimate)."""


@dataclass
class Tried:
    """What was seen at one place; `done` is False, or a reason, where nobody moved it.

    `stood_s`: how long the prompt stood until it was answered.
    """

    place: Place
    events: list[Term] = field(default_factory=list)
    looks_count: int = 0
    over_s: float = 0.0
    stood_s: float | None = None
    unread: Reason | None = None
    done: bool | NotMeasured | None = None

    def reading(self) -> Reading:
        """The reading of this place: what happened counts, whoever answered or not."""
        name, looked = self.place.reading, self.looks_count
        source = MovementSource.LOOKED(looks_count=looked, over_s=self.over_s)
        if self.events:
            why = _why_came(self.place, distinct(self.events))
            count = float(len(self.events))
            return judge(name, count, "", Limit(0, 0), source=source, why_fail=why)
        if isinstance(self.done, NotMeasured):
            return not_measured(name, "", self.done.reason)
        if not self.done:
            return not_measured(name, "", MovementReason.NOT_DONE())
        if self.stood_s is None and self.over_s < _LEAST_STILL_S:
            why = MovementReason.TOO_SHORT(over_s=self.over_s, least_s=_LEAST_STILL_S)
            return not_measured(name, "", why)
        if self.stood_s is not None and self.stood_s < _LEAST_MOVED_S:
            why = MovementReason.TOO_SOON(stood_s=self.stood_s, least_s=_LEAST_MOVED_S)
            return not_measured(name, "", why)
        if self.unread is not None:
            return not_measured(name, "", MovementReason.NEVER_LOOKED(reason=self.unread))
        if not looked:
            return not_measured(name, "", MovementReason.ENDED_BEFORE())
        return judge(name, 0.0, "", Limit(0, 0), source=source)


def _why_came(place: Place, events: tuple[Term, ...]) -> Reason:
    """What came; all screens in one moment and nothing else may be of what they share."""
    if all(event.means(MovementEvent.SCREENS_LOST_TOGETHER) for event in events):
        return MovementReason.CAME_OF_SCREENS(during=place.term, events=events)
    return MovementReason.CAME(during=place.term, events=events)


class Course:
    """Goes from place to place as samples come; looks are taken at each and between them."""

    def __init__(
        self, context: StageContext[Needs], settings: Movement, todo: Sequence[Place], looks: Looks
    ) -> None:
        self._context, self._settings, self._looks = context, settings, looks
        self._todo = [*todo]
        self._all_count = len(todo)
        self._tried: list[Tried] = []
        self._question: Question[bool] | None = None
        self._until_s: float | None = None
        self.done = False
        self._traffic = False
        self._begin(UNTOUCHED)

    def traffic_began(self) -> None:
        """The engine is ready: from now on nobody touches the card, then it is moved."""
        self._traffic = True
        self._looks.traffic_began()
        self._since_s = self._context.clock.monotonic_s()
        self._errors_before = self._context.card.error_counters()
        self._until_s = self._since_s + self._settings.still_s

    def longest_s(self) -> float:
        """How long all of it takes at most."""
        each_s = self._settings.prompt_timeout_s + self._settings.settle_s
        return self._settings.still_s + self._all_count * each_s

    def look(self) -> None:
        """Look once, and lay what happened to what is moved now."""
        now = self._tried[-1]
        self._happened(now, self._looks.look())
        now.looks_count += 1
        now.unread = self._looks.unread if now.unread or now.looks_count == 1 else None

    def on_sample(self, sample: Sample) -> bool:
        """Look, and go on where the movement at hand is over; True: all is done.

        Before there is traffic nobody is asked for anything.
        """
        self._happened(self._tried[-1], self._looks.presence(sample.present))
        self.look()
        self._happened(self._tried[-1], self._looks.screens_lost())
        now, now_s = self._tried[-1], self._context.clock.monotonic_s()
        now.over_s = now_s - self._since_s
        if not self._traffic:
            return False
        if self._question is not None:
            answer = self._question.look()
            if answer is None:
                return False
            now.done, now.stood_s, self._question = answer, self._question.stood_s, None
            # What nobody moved needs no time to settle.
            self._until_s = now_s + (self._settings.settle_s if answer is True else 0.0)
        if self._until_s is None or now_s < self._until_s:
            return False
        self._close(now)
        if not self._todo:
            self.done = True
            return True
        self._begin(self._todo.pop(0))
        return False

    def end(self, why: Reason, *, gone: bool = False) -> None:
        """The load ends before its time: the prompt is taken away, what happened is kept."""
        now, last = self._tried[-1], self._context.watch.last
        there = not gone and (last is None or last.present)
        self._happened(now, self._looks.presence(there))
        self.look()
        self._happened(now, self._looks.screens_lost())
        if self._question is not None:
            answer = self._question.withdraw(why)
            now.done, self._question = answer, None
        elif now.place is UNTOUCHED:
            now.done = NotMeasured(MovementReason.NOT_REACHED(reason=why))
        self._close(now)

    def readings(self, why: Reason) -> Iterator[Reading]:
        """One a place; `why` is told for those that were never reached."""
        for tried in self._tried:
            yield tried.reading()
        not_reached = MovementReason.NOT_REACHED(reason=why)
        for place in self._todo:
            yield not_measured(place.reading, "", not_reached)

    def _begin(self, place: Place) -> None:
        context, settings = self._context, self._settings
        self._since_s = context.clock.monotonic_s()
        self._errors_before = context.card.error_counters()
        self._tried.append(Tried(place))
        self._until_s = None
        if place.prompt is None:
            self._tried[-1].done = True
        else:
            number = self._all_count - len(self._todo)
            prompt = DONE.at(number, self._all_count).on(place.prompt)
            self._question = Question(
                context.prompter, context.clock, prompt, settings.prompt_timeout_s, read_done
            )
        note = MovementNote.MOVING(during=place.term) if place.prompt else MovementNote.STILL()
        done = float(self._all_count - len(self._todo) - (place.prompt is not None))
        context.progress(done, float(self._all_count), "", note)

    def _close(self, now: Tried) -> None:
        since_s = self._context.clock.monotonic_s() - self._since_s
        self._happened(now, self._looks.errors_since(self._errors_before, since_s))

    def _happened(self, now: Tried, events: Iterator[Term]) -> None:
        for event in events:
            if not now.events:
                self._tell_first(now.place, event)
            now.events.append(event)
            at_s = self._context.watch.elapsed_s()
            during = now.place.term
            self._context.note(MovementNote.HAPPENED(during=during, event=event, at_s=at_s))

    def _tell_first(self, place: Place, event: Term) -> None:
        """A run that is cut after this still knows of it: the reading is there before the note."""
        name = f"first_{place.reading}"
        if not any(reading.name == name for reading in self._context.readings):
            why = _why_came(place, (event,))
            source = MovementSource.AT_ONCE()
            self._context.take(judge(name, 1.0, "", Limit(0, 0), source=source, why_fail=why))
