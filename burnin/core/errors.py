"""Every error that a person can meet, in one tree.

BurninError                  the message says what is wrong, where, and what to do
├── BadInput                 a file or option that cannot be used (exit code 2)
│   ├── ProfileError
│   ├── ScenarioError
│   └── RecordError
├── NoCard                   no card where one was expected (exit code 2)
├── EngineError              the engine cannot do the work that was asked
│   ├── EngineUnavailable    nothing on this bench offers it
│   ├── DeviceLost           the card stopped answering while it worked
│   └── WorkerEnded          the worker process ended by itself
├── LoadStopped              a guard ended the load
└── StoppedByHand            somebody pressed Ctrl-C
"""

from __future__ import annotations


class BurninError(Exception):
    """Root of the tree; its text is shown to the technician as it is."""


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


class EngineError(BurninError):
    """The engine cannot do the work that was asked."""


class EngineUnavailable(EngineError):
    """No engine on this bench can make the card work."""


class DeviceLost(EngineError):
    """The card stopped answering while it worked."""


class WorkerEnded(EngineError):
    """The worker process ended by itself."""


class StoppedByHand(BurninError):
    """Somebody pressed Ctrl-C."""
