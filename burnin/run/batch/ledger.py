"""Who of a bench's cards may draw how much, and whose traffic fills which link.

What a card is counted at never lies below what it may draw: at rest a floor or what it reads, under
a load all that was given for it, without a sensor the worst all the while. What is given for a load
counts until the card's power has been read to have fallen, and for a second more, so that in no
second the rises of some cards lean on falls of others. A stage gets at once all that it may need,
and holds nothing while it waits: so no two can wait for each other. They are served in the order in
which they asked; one that waits for watts is not overtaken by one that needs fewer.

Pure: times are handed in, in seconds of any clock that does not go back.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from burnin.core.meaning import Reason
from burnin.run.batch.budget import Budget
from burnin.run.batch.resting import Resting
from burnin.run.leave.giver import Answer, Given, Never, Wait
from burnin.run.leave.meanings import LeaveReason
from burnin.run.leave.need import Need

WINDOW_S = 1.0
"""In no span of this length do the cards draw more together than the budget."""
_ABOVE_SHARE, _ABOVE_W = 1.05, 5.0
"""A card that reads less is counted at what it read and a little more: readings scatter."""
_SAME_W = 1e-6


@dataclass
class _Seat:
    """One card: what it is counted at, at rest and for a load, and what it asks for."""

    rest_w: float
    measured: bool
    held_w: float | None = None
    need: Need | None = None
    loads: bool = False
    over_s: float | None = None
    stuck: bool = False
    read: list[tuple[float, float]] = field(default_factory=list)
    resting: Resting = field(default_factory=Resting)

    @property
    def counted_w(self) -> float:
        return max(self.rest_w, self.held_w or 0.0)


Told = Callable[[float, str, str, float], None]
"""Is told of each change: when, which card, what happened, and what the card is counted at now."""


def _nobody(_at_s: float, _card: str, _what: str, _watts: float) -> None:
    """Nobody keeps a log."""


class Ledger:
    """Counts the watts and links of one batch."""

    def __init__(self, budget: Budget | None, told: Told = _nobody) -> None:
        self.budget = budget
        self._told = told
        self._seats: dict[str, _Seat] = {}
        self._waiting: list[str] = []
        self._fallen: list[tuple[float, float]] = []

    def seat(self, card: str, power_w: float | None, limit_w: float | None, now_s: float) -> None:
        """A card of the bench, at rest: its power now (None: unmeasured), and its highest limit."""
        floor_w = self._floor_w
        if power_w is not None:
            seat = _Seat(max(floor_w, _above(power_w)), measured=True)
            seat.resting.read(now_s, power_w)
        else:
            at_most_w = self.budget.card_w_at_most if self.budget is not None else None
            known_w = limit_w if limit_w is not None else at_most_w
            seat = _Seat(floor_w if known_w is None else known_w, measured=False)
        self._seats[card] = seat
        self._told(now_s, card, "seated", seat.counted_w)

    def ask(self, card: str, need: Need, now_s: float) -> None:
        """A card's stage asks; what it asked for before is over."""
        seat = self._seats[card]
        if seat.loads:
            self.over(card, now_s)
        self._leave_queue(card)
        seat.need = need
        self._waiting.append(card)

    def over(self, card: str, now_s: float) -> None:
        """The card's load is off: links are free at once, watts as its power falls."""
        seat = self._seats[card]
        self._leave_queue(card)
        seat.need, seat.loads, seat.over_s = None, False, now_s
        seat.read.clear()
        seat.resting.forget()
        if not seat.measured:
            self._hold(card, None, now_s, "given back")

    def reads(self, card: str, power_w: float, now_s: float) -> None:
        """A reading of a card's power, taken after all that was told of it before."""
        seat = self._seats[card]
        if not seat.measured:
            return
        if not seat.loads:
            seat.resting.read(now_s, power_w)
        if seat.held_w is None:
            if power_w > seat.rest_w:
                seat.rest_w = _above(power_w)
                self._told(now_s, card, "rests higher", seat.counted_w)
            elif seat.resting.settled(now_s):
                self._rests_lower(card, now_s)
            return
        if power_w > seat.held_w + _SAME_W:
            self._hold(card, power_w, now_s, "draws more")
        if seat.loads or seat.over_s is None:
            return
        seat.read = [(at, w) for at, w in seat.read if now_s - at < WINDOW_S]
        seat.read.append((now_s, power_w))
        if now_s - seat.over_s < WINDOW_S:
            return
        reads_w = _above(max(watts for _, watts in seat.read))
        if reads_w <= seat.rest_w:
            self._hold(card, None, now_s, "given back")
        elif seat.resting.settled(now_s):  # it idles warmer than before: that is its rest now
            seat.rest_w = reads_w
            self._hold(card, None, now_s, "rests higher")
        elif reads_w < seat.held_w:
            self._hold(card, reads_w, now_s, "falls")

    def _rests_lower(self, card: str, now_s: float) -> None:
        """Count a card at rest at what it reads of late, where a reading was once higher."""
        seat, high_w = self._seats[card], self._seats[card].resting.highest_w()
        rest_w = max(self._floor_w, _above(high_w or 0.0))
        if rest_w < seat.rest_w:
            self._fallen.append((now_s, seat.rest_w - rest_w))
            seat.rest_w = rest_w
            self._told(now_s, card, "falls", seat.counted_w)

    def _will_rest_w(self, seat: _Seat) -> float:
        """What a card is counted at once it rests again: a high reading may have been one alone."""
        low_w = seat.resting.lowest_w()
        if not seat.measured or low_w is None or seat.held_w is not None:
            return seat.rest_w
        return min(seat.rest_w, max(self._floor_w, _above(low_w)))

    @property
    def _floor_w(self) -> float:
        return self.budget.rest_w if self.budget is not None else 0.0

    def gone(self, card: str, now_s: float) -> None:
        """The card's run and what worked it are gone for good: no load is left on it."""
        seat = self._seats[card]
        self._leave_queue(card)
        seat.need, seat.loads, seat.stuck = None, False, False
        self._hold(card, None, now_s, "gone")

    def stuck(self, card: str) -> None:
        """What the card is counted at is not to be had back in this batch; its links are free."""
        seat = self._seats[card]
        self._leave_queue(card)
        seat.need, seat.loads, seat.stuck = None, False, True

    def at_rest(self, card: str) -> bool:
        """Whether a card is counted at rest again."""
        return self._seats[card].held_w is None

    def counted_w(self, now_s: float) -> float:
        """What all cards are counted at, with what fell within the last second."""
        self._fallen = [(at, w) for at, w in self._fallen if now_s - at < WINDOW_S]
        return sum(s.counted_w for s in self._seats.values()) + sum(w for _, w in self._fallen)

    def answers(self, now_s: float) -> dict[str, Answer]:
        """What is said now to every card that waits; who gets leave has it from now on."""
        said: dict[str, Answer] = {}
        behind: str | None = None
        for card in tuple(self._waiting):
            need = self._need(card)
            never = self._never(card, need)
            if never is not None:
                said[card] = Never(never)
                self._leave_queue(card)
                self._seats[card].need = None
                continue
            taken = self._link_taken(card, need)
            if taken is not None:
                said[card] = Wait(taken)
            elif behind is not None:
                said[card] = Wait(LeaveReason.BEHIND(address=behind))
            elif (short := self._short(card, need, now_s)) is not None:
                said[card], behind = Wait(short), card
            else:
                said[card] = Given(bounded=self.budget is not None)
                self._give(card, need, now_s)
        return said

    def _need(self, card: str) -> Need:
        need = self._seats[card].need
        assert need is not None  # whoever waits has asked
        return need

    def _give(self, card: str, need: Need, now_s: float) -> None:
        self._leave_queue(card)
        seat = self._seats[card]
        seat.loads, seat.over_s = True, None
        held_w = max(seat.counted_w, self._watts_of(need) or 0.0)
        seat.held_w = held_w
        self._told(now_s, card, "given", seat.counted_w)

    def _watts_of(self, need: Need) -> float | None:
        if need.watts is not None or self.budget is None:
            return need.watts
        return self.budget.card_w_at_most

    def _never(self, card: str, need: Need) -> Reason | None:
        """Why a need could not be met whatever the others do; nothing where it could."""
        if self.budget is None:
            return None
        watts, budget = self._watts_of(need), self.budget
        if watts is None:
            return LeaveReason.NEVER_KNOWN()
        others = [seat for name, seat in self._seats.items() if name != card]
        most_w = budget.watts - sum(
            seat.counted_w if seat.stuck or not seat.measured else self._will_rest_w(seat)
            for seat in others
        )
        if max(watts, self._seats[card].rest_w) > most_w:
            return LeaveReason.NEVER_WATTS(
                needed_w=watts, most_w=max(0.0, most_w), budget_w=budget.watts
            )
        step_w = self._step_of(need)
        if budget.step_w_per_s is not None and step_w > budget.step_w_per_s:
            return LeaveReason.NEVER_STEP(step_w=step_w, most_w_per_s=budget.step_w_per_s)
        return None

    def _step_of(self, need: Need) -> float:
        return need.step_w if need.watts is not None else self._watts_of(need) or 0.0

    def _short(self, card: str, need: Need, now_s: float) -> Reason | None:
        """What of the budget is missing now; nothing where the need fits."""
        if self.budget is None:
            return None
        seat, watts = self._seats[card], self._watts_of(need) or 0.0
        free_w = self.budget.watts - self.counted_w(now_s) + seat.counted_w
        if max(watts, seat.counted_w) > free_w + _SAME_W:
            return LeaveReason.WATTS_TAKEN(
                needed_w=watts, free_w=max(0.0, free_w), budget_w=self.budget.watts
            )
        if self.budget.step_w_per_s is None:
            return None
        steps_w = sum(self._step_of(s.need) for s in self._seats.values() if s.loads and s.need)
        free_step = self.budget.step_w_per_s - steps_w
        if self._step_of(need) > free_step + _SAME_W:
            return LeaveReason.STEP_TAKEN(
                step_w=self._step_of(need), free_w_per_s=max(0.0, free_step)
            )
        return None

    def _link_taken(self, card: str, need: Need) -> Reason | None:
        """Who fills a link that this one's traffic would need, or waits for one and was first."""
        if need.ways is not None and not need.ways:
            return None
        first = self._waiting[: self._waiting.index(card)]
        for name, seat in self._seats.items():
            other = seat.need
            if name == card or other is None or not (seat.loads or name in first):
                continue
            if other.ways is not None and not other.ways:
                continue
            if need.ways is None or other.ways is None:
                return LeaveReason.WAY_UNKNOWN(address=name)
            shared = need.ways & other.ways
            if shared:
                return LeaveReason.LINK_TAKEN(address=name, port=min(shared))
        return None

    def _hold(self, card: str, watts: float | None, now_s: float, what: str) -> None:
        """Count a card at this for its load from now on; what it falls by counts a second more."""
        seat = self._seats[card]
        before_w = seat.counted_w
        seat.held_w = watts
        fell_w = before_w - seat.counted_w
        if fell_w > 0.0:
            self._fallen.append((now_s, fell_w))
        self._told(now_s, card, what, seat.counted_w)

    def _leave_queue(self, card: str) -> None:
        if card in self._waiting:
            self._waiting.remove(card)


def _above(power_w: float) -> float:
    return power_w * _ABOVE_SHARE + _ABOVE_W
