"""The other end of the desk's socket: whoever answers a prompt or asks a run to stop."""

from __future__ import annotations

from pathlib import Path

from burnin.core.meaning import Reason
from burnin.run.desk.letters import IN_TIME_S, Letter, as_line, line_from, refusal_of
from burnin.run.desk.listening import local_socket, short_name
from burnin.run.desk.meanings import DeskReason


def call(folder: Path, letter: Letter) -> Reason | None:
    """Hand a letter to the run that writes this record; why it was refused, None where it was done.

    Where no run listens, that is the reason; it waits for a reply no longer than a moment.
    """
    try:
        with local_socket() as connection:
            connection.settimeout(2 * IN_TIME_S)
            with short_name(folder) as name:
                connection.connect(name)
            connection.sendall(as_line(letter))
            return refusal_of(line_from(connection))
    except (FileNotFoundError, ConnectionRefusedError, NotADirectoryError):
        return DeskReason.NOBODY_LISTENS()
    except PermissionError:
        return DeskReason.NOT_ALLOWED()
    except (OSError, ValueError) as error:
        return DeskReason.NO_REPLY(words=getattr(error, "strerror", None) or str(error))
