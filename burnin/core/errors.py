"""Every error that a person or a program can meet, in one tree.

BurninError                      the message says what is wrong, where, and what to do
├── BadInput                     a file or option that cannot be used (exit code 2)
│   ├── ProfileError             a profile is not valid
│   ├── ScenarioError            a scenario of the simulated machine is not valid
│   └── RecordError              a record cannot be read, or must not be gone on with
├── NoCard                       no card where one was expected (exit code 2)
└── ReasonedError                it comes with a reason, a code that a catalogue words
    ├── EngineError              the engine cannot do the work that was asked
    │   ├── EngineUnavailable    nothing on this bench offers it
    │   ├── DeviceLost           the card stopped answering while it worked
    │   ├── WorkerEnded          the worker process ended by itself
    │   └── WorkerSilent         the worker process hung; it was killed, or cannot be
    ├── LoadStopped              a guard ended the load (`burnin.guard.sampler`)
    ├── StoppedByHand            somebody pressed Ctrl-C, or a signal asked for the end
    ├── HeldByAnotherRun         another run works this card or writes this record (code 2)
    └── RefusedBySystem          the operating system would not (exit code 2)
        ├── DiskFull             nothing more can be written
        ├── DiskReadOnly         nothing can be written there at all
        ├── DiskBroken           the disk answered with an error
        ├── NotPermitted         it needs rights that this account has not
        ├── NotFound             no such file or folder
        ├── TooManyFiles         no further file can be opened
        └── NobodyReads          whoever read the output has gone

From errors of others to these, one table a source: the operating system's in `burnin.core.system`,
those of a driver's library beside the source of the card that uses it (`burnin.card`), those of the
programming interfaces that work a card beside each engine (`burnin.engine`).
"""

from __future__ import annotations

from burnin.core.meaning import Reason


class BurninError(Exception):
    """Root of the tree; a text is shown to the technician as it is, a reason is worded first."""

    def __init__(self, told: str | Reason) -> None:
        super().__init__(str(told))
        self.told = told


class ReasonedError(BurninError):
    """An error that a record keeps: it is raised with its reason."""

    def __init__(self, reason: Reason) -> None:
        super().__init__(reason)
        self.reason = reason


class BadInput(BurninError):
    """A file or an option cannot be used."""


class ProfileError(BadInput):
    """A profile is not valid."""


class ScenarioError(BadInput):
    """A scenario of the simulated machine is not valid."""


class RecordError(BadInput):
    """A record cannot be read."""


class NoCard(BurninError):
    """No graphics card where one was expected."""


class EngineError(ReasonedError):
    """The engine cannot do the work that was asked."""


class EngineUnavailable(EngineError):
    """No engine on this bench can make the card work."""


class DeviceLost(EngineError):
    """The card stopped answering while it worked."""


class WorkerEnded(EngineError):
    """The worker process ended by itself."""


class WorkerSilent(EngineError):
    """The worker process hung and was given up: killed, or, where it cannot be, left behind."""


class StoppedByHand(ReasonedError):
    """Somebody pressed Ctrl-C, or a signal asked for the end."""


class HeldByAnotherRun(ReasonedError):
    """Another run works this card or writes this record, or nobody can be sure that none does."""


class RefusedBySystem(ReasonedError):
    """The operating system would not do what was asked of it."""


class DiskFull(RefusedBySystem):
    """Nothing more can be written there."""


class DiskReadOnly(RefusedBySystem):
    """Nothing can be written there at all."""


class DiskBroken(RefusedBySystem):
    """The disk answered with an error."""


class NotPermitted(RefusedBySystem):
    """It needs rights that this account has not."""


class NotFound(RefusedBySystem):
    """No such file or folder."""


class TooManyFiles(RefusedBySystem):
    """No further file can be opened."""


class NobodyReads(RefusedBySystem):
    """Whoever read the output has gone."""
