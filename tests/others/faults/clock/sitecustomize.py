"""Steps the wall clock: put this folder on PYTHONPATH.

`CLOCK_FILE` names a file that holds seconds to add to the wall clock. It is read at each look, so
that the clock steps while a run works. The clock that never runs backwards is left as it is.
"""

import datetime
import os
import time
from pathlib import Path

_real_time = time.time
_real_datetime = datetime.datetime


def _added() -> float:
    try:
        return float(Path(os.environ["CLOCK_FILE"]).read_text())
    except (KeyError, OSError, ValueError):
        return 0.0


class _Stepped(datetime.datetime):
    @classmethod
    def now(cls, tz: datetime.tzinfo | None = None) -> "_Stepped":
        moment = _real_datetime.fromtimestamp(_real_time() + _added(), tz)
        return cls(*moment.timetuple()[:6], moment.microsecond, tzinfo=moment.tzinfo)

    @classmethod
    def utcnow(cls) -> "_Stepped":
        return cls.now(datetime.UTC).replace(tzinfo=None)


time.time = lambda: _real_time() + _added()
time.time_ns = lambda: int((_real_time() + _added()) * 1e9)
datetime.datetime = _Stepped  # type: ignore[misc]
