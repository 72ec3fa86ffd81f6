"""Makes the tables, views, roles and rights on the server: once, by the database's owner."""

from __future__ import annotations

from psycopg import sql

from burnin.history.server.address import Address
from burnin.history.server.connected import connected, told_of
from burnin.history.server.layout import ROLES, SCHEMA, statements

_ONE_AT_A_TIME = 0x6275726E


def lay_out(address: Address) -> bool:
    """Lay out what is missing, in one piece; whether anything was. Raises BadInput."""
    with connected(address) as connection, told_of(address), connection.transaction():
        connection.execute("SELECT pg_advisory_xact_lock(%s)", (_ONE_AT_A_TIME,))
        sought = connection.execute("SELECT to_regnamespace(%s) IS NOT NULL", (SCHEMA,))
        there = sought.fetchone()
        if there is not None and there[0]:
            return False
        connection.execute(f"DO $$ BEGIN {ROLES} END $$".encode())
        connection.execute(sql.SQL("CREATE SCHEMA {}").format(sql.Identifier(SCHEMA)))
        connection.execute(statements().encode())
    return True
