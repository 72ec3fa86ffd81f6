"""A connection to the server, and what goes wrong with one in words of ours."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import psycopg
from psycopg import errors, sql

from burnin.core.errors import BadInput
from burnin.history.meanings import HistoryReason
from burnin.history.server.address import Address
from burnin.history.server.layout import SCHEMA

# The server asks whether a bench that says nothing is still there, and lets its lock go if not.
_OPTIONS = "-c tcp_keepalives_idle=30 -c tcp_keepalives_interval=10 -c tcp_keepalives_count=3"
Connection = psycopg.Connection[tuple[object, ...]]


@contextmanager
def told_of(address: Address) -> Iterator[None]:
    """Whatever the server or the way to it refuses is BadInput, with the reason."""
    server = address.shown
    try:
        yield
    except (errors.UndefinedTable, errors.InvalidSchemaName):
        raise BadInput(HistoryReason.SERVER_NOT_LAID_OUT(server=server)) from None
    except errors.InsufficientPrivilege as error:
        raise BadInput(HistoryReason.SERVER_RIGHTS(server=server, words=_words(error))) from None
    except errors.LockNotAvailable:
        raise BadInput(HistoryReason.SERVER_HELD(server=server)) from None
    except (psycopg.OperationalError, psycopg.InterfaceError) as error:
        raise BadInput(HistoryReason.SERVER_GONE(server=server, words=_words(error))) from None
    except psycopg.Error as error:
        raise BadInput(HistoryReason.SERVER_REFUSED(server=server, words=_words(error))) from None


@contextmanager
def connected(address: Address) -> Iterator[Connection]:
    """Connect, in UTC and in the folder of tables of this layout; raises BadInput."""
    with told_of(address):
        options = f"{address.given.get('options', '')} {_OPTIONS}".strip()
        given = {**address.given, "options": options}
        with psycopg.connect(**given, autocommit=True) as connection:  # type: ignore[arg-type]
            if not address.here and not connection.pgconn.ssl_in_use:
                told = HistoryReason.SERVER_NEEDS_TLS(server=address.shown, mode="-")
                raise BadInput(told)
            connection.execute("SET TIME ZONE 'UTC'")
            connection.execute(sql.SQL("SET search_path TO {}").format(sql.Identifier(SCHEMA)))
            yield connection


def _words(error: psycopg.Error) -> str:
    """The server's own words in a line; what follows the first line repeats it."""
    said = error.diag.message_primary or next(iter(str(error).strip().splitlines()), "")
    return said or type(error).__name__
