"""A card's end of the socket to the keeper of its batch: asks for leave, and hears what is said.

Nothing is waited for longer than a caller says: a keeper that is stopped costs a run time, never a
sample. A keeper that is gone ends the run as a stop by hand does (`why_stop`): nobody shares out
the power any more, and nobody watches over the batch.
"""

from __future__ import annotations

import socket
import threading
import time

from burnin.core.files.ready import ready
from burnin.core.meaning import Reason
from burnin.core.reading import NotMeasured
from burnin.core.sample import Sample
from burnin.engine.engine import Engine, WorksInProcess
from burnin.run.leave.giver import Answer, Given, Never, Wait
from burnin.run.leave.letters import (
    MOST_BYTES,
    Answered,
    Asks,
    Go,
    IsAtRest,
    IsOver,
    MayLoad,
    MayNever,
    MustWait,
    OfKeeper,
    OfRun,
    Reads,
    as_packet,
    letter_of,
)
from burnin.run.leave.meanings import LeaveReason
from burnin.run.leave.need import Need

_TELLS_EVERY_S = 0.5
"""While nothing is to be taken back, the keeper is told the card's power so often."""


class OfBatch:
    """Answers `LeaveGiver` for one card of a batch, and carries its other letters."""

    def __init__(self, handle: int) -> None:
        """`handle`: the open socket that the keeper left this process; raises OSError for none."""
        self._socket = socket.socket(fileno=handle)
        self._socket.set_inheritable(False)  # whatever works the card holds no end of it
        self._socket.setblocking(False)
        self.engine: Engine | NotMeasured | None = None
        self._lock = threading.RLock()
        self._number = 0
        self._ask: Asks | None = None
        self._answer: Answer = Given(bounded=False)
        self._rests, self._loads = True, False
        self._told_s = 0.0
        self._unsent: list[OfRun] = []
        self._answers: dict[int, str | None] = {}
        self.gone = self.may_begin = False

    def worker_pid(self) -> int:
        """The process that works the card; 0 where there is none."""
        engine = self.engine
        return (engine.process_id() or 0) if isinstance(engine, WorksInProcess) else 0

    def why_stop(self) -> bool | Reason:
        """Why the run is to end; False while it is not."""
        self._hear(0.0)
        return LeaveReason.KEEPER_GONE() if self.gone else False

    def send(self, letter: OfRun) -> None:
        """Send a letter; what the keeper cannot take now is sent with the next one."""
        with self._lock:
            self._unsent.append(letter)
            self._send_left()

    def tell(self, letter: OfRun) -> bool:
        """Send a letter now or not at all: the next of its kind says more."""
        with self._lock:
            self._send_left()
            return not self._unsent and self._sent(letter)

    def begin(self, wait_s: float) -> bool:
        """Whether all cards of the batch are ready, after `wait_s` at most."""
        self._hear(0.0 if self.may_begin else wait_s)
        return self.may_begin

    def ask(self, need: Need) -> None:
        """Ask for what a stage needs."""
        self._number += 1
        ways = None if need.ways is None else sorted(need.ways)
        self._ask = Asks(
            self._number, need.stage, need.watts, need.step_w, ways, self.worker_pid()
        )
        self._answer, self._rests, self._loads = Wait(LeaveReason.KEEPER_SILENT()), False, True
        self.send(self._ask)

    def answer(self, wait_s: float = 0.0) -> Answer:
        """The answer as far as it is known."""
        self._hear(wait_s)
        return self._answer

    def over(self) -> None:
        """The load is off."""
        if self._ask is not None and self._loads:
            self._loads = False
            self.send(IsOver(self._ask.number))

    def see(self, sample: Sample) -> None:
        """Tell the card's power: each sample while watts are to be taken back, else now and then.

        Called by whoever takes the samples, so that none of before `over` follows it.
        """
        power_w, now_s = sample.telemetry.power_w, time.monotonic()
        if isinstance(power_w, NotMeasured):
            return
        if (not self._rests and not self._loads) or now_s - self._told_s >= _TELLS_EVERY_S:
            self._told_s = now_s
            self.tell(Reads(power_w))

    def at_rest(self, wait_s: float = 0.0) -> bool:
        """Whether the keeper counts the card as at rest."""
        self._hear(0.0 if self._rests else wait_s)
        return self._rests or self.gone

    def prompt_answer(self, number: int, wait_s: float) -> tuple[bool, str | None]:
        """Whether a prompt is over, and its answer (None: nobody gave one)."""
        self._hear(0.0 if number in self._answers else wait_s)
        with self._lock:
            if number not in self._answers:
                return self.gone, None
            return True, self._answers.pop(number)

    def close(self) -> None:
        """Send what is left, as far as the keeper takes it, and hang up."""
        with self._lock:
            self._send_left()
            self._socket.close()
            self.gone = True

    def _hear(self, wait_s: float) -> None:
        """Take in every letter that is there, or the first that comes within `wait_s`."""
        if self.gone:
            return
        with self._lock:
            self._send_left()
            there = ready([self._socket], wait_s)
            while there and not self.gone:
                try:
                    packet = self._socket.recv(MOST_BYTES)
                except BlockingIOError:
                    return
                except OSError:
                    packet = b""
                if not packet:
                    self.gone = True
                    return
                letter = letter_of(packet)
                if letter is not None:
                    self._take(letter)

    def _take(self, letter: OfRun | OfKeeper) -> None:
        mine = self._ask.number if self._ask is not None else 0
        match letter:
            case Go():
                self.may_begin = True
            case MayLoad(number, bounded) if number == mine:
                self._answer = Given(bounded)
            case MustWait(number, why) if number == mine:
                self._answer = Wait(why)
            case MayNever(number, why) if number == mine:
                self._answer, self._rests, self._loads = Never(why), True, False
            case IsAtRest(number) if number == mine:
                self._rests = True
            case Answered(number, text):
                self._answers[number] = text
            case _:
                pass

    def _send_left(self) -> None:
        while self._unsent and not self.gone:
            if not self._sent(self._unsent[0]):
                return
            self._unsent.pop(0)

    def _sent(self, letter: OfRun) -> bool:
        try:
            self._socket.send(as_packet(letter))
        except BlockingIOError:
            return False
        except OSError:
            self.gone = True
        return not self.gone
