"""Where each thread of this process is, for whoever finds that it answers late.

Where the environment names a file in BURNIN_WHERE_LOG, every SIGUSR1 adds the calls that each
thread is in to that file. No thread of the interpreter is needed for it, so that it also tells of
one that holds the interpreter inside a library, and of one that does not hear.
"""

from __future__ import annotations

import faulthandler
import os
import signal
import sys

from burnin.core.files.open_flags import CLOEXEC

FILE_NAMED_BY = "BURNIN_WHERE_LOG"


def tell_where_asked() -> None:
    """From now on, as long as the process lives; does nothing where none is asked for."""
    path = os.environ.get(FILE_NAMED_BY)
    if path and sys.platform != "win32":
        wanted = os.O_WRONLY | os.O_CREAT | os.O_APPEND | CLOEXEC
        faulthandler.register(signal.SIGUSR1, file=os.open(path, wanted, 0o600), all_threads=True)
